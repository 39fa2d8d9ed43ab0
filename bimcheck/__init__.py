"""bimcheck: ventilated facades with concealed rear fixings, checked from open IFC models."""

__version__ = "0.1.0"

"""Reading: any exporter's model as tables of elements and obstacles."""

from bimcheck.read.facts import GridAxis, ModelFacts, Storey
from bimcheck.read.inspect import inspect_rows
from bimcheck.read.result import ReadResult
from bimcheck.read.settings import Model, Reading, ReadSettings, Recognition, Selection
from bimcheck.read.stage import read_models

__all__ = ["GridAxis", "Model", "ModelFacts", "ReadResult", "ReadSettings", "Reading", "Recognition", "Selection", "Storey",
           "inspect_rows", "read_models"]

"""What every room shares: units, tables, columns, rules and the plan.  Imports nothing else of bimcheck."""

"""python -m bimcheck"""

from bimcheck.cli import console

console()

"""python -m bimcheck"""

import sys

from bimcheck.cli import main

sys.exit(main())

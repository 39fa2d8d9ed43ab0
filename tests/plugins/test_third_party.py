"""A third party adds a check and a pressure table without touching the package: a distribution of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from tests.shared import ROOT

MODULE = '''
"""Rules of a third party."""
import numpy as np
from bimcheck.core.columns import Column
from bimcheck.core.rule import check, rule
from bimcheck.core.units import mm, mm2, MPa


@check("panels", "u_glare", "invented check: width against a limit", clause="invented", formula="u = width / width_max_mm",
       section="extra.glare")
def glare(width: mm, *, width_max_mm: float = 5000.0):
    """An invented check."""
    return width / width_max_mm
'''
PRESSURES = '''
"""A pressure table of a third party."""
import numpy as np
from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import mm, mm2, MPa


def _column(name, unit, file=""):
    return Column(name, unit, "invented", file=file)


@rule("panels", adds=[_column("zone", "text", "zone"), _column("w_suction", "MPa"), _column("w_pressure", "MPa"), _column("w_serv_suction", "MPa"),
                      _column("w_serv_pressure", "MPa"), _column("w_basis", "text"), _column("wind_flags", "text")], clause="invented", formula="-1.0, +0.5 kPa")
def flat_pressures(z: mm):
    n = len(z)
    text = lambda t: np.full(n, t, dtype=object)
    return text("all"), np.full(n, -1e-3), np.full(n, 5e-4), np.full(n, -1e-3), np.full(n, 5e-4), text("characteristic"), text("")


@rule("anchors", adds=[_column("w_anchor_suction", "MPa"), _column("w_anchor_pressure", "MPa")], clause="invented", formula="as the panel")
def flat_pressures_on_anchors(w_suction: MPa, w_pressure: MPa):
    return w_suction, w_pressure
'''


def test_an_installed_plug_in_takes_part(tmp_path: Path) -> None:
    site = tmp_path / "site"
    info = site / "thirdparty-1.0.dist-info"
    info.mkdir(parents=True)
    (site / "thirdparty_rules.py").write_text(MODULE)
    (site / "thirdparty_wind.py").write_text(PRESSURES)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: thirdparty\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text('[bimcheck.rules]\nglare = thirdparty_rules\nflat-table = thirdparty_wind\n')
    (tmp_path / "p.toml").write_text('[wind]\nstandard = "flat-table"\n[plugins]\nmore_rules = ["glare"]\n[extra.glare]\nwidth_max_mm = 1.0\n')
    code = ("import sys; sys.path.insert(0, sys.argv[1]); from bimcheck.cli import main; "
            "sys.exit(main(['run', sys.argv[2], '-p', sys.argv[3], '-o', sys.argv[4], '--quiet', '--json']))")
    done = subprocess.run([sys.executable, "-c", code, str(site), str(ROOT / "sample_models" / "small_podium_metre.ifc"), str(tmp_path / "p.toml"), str(tmp_path / "o")],
                          capture_output=True, text=True, check=False)
    assert done.returncode == 1, done.stderr
    facts = json.loads(done.stdout)
    assert facts["results"]["fail"] == facts["counts"]["panel"]  # every panel is wider than 1 mm
    text = (tmp_path / "o" / "panels.csv").read_text()
    assert "u_glare" in text.splitlines()[0] and ",all," in text

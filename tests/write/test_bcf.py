"""issues.bcf read back by the BCF library.  Expected places: geometry of the wall in test_issue_pictures, worked out beside each;
the field of view by BCF 2.1 (visinfo.xsd: at most 60 degrees)."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from bimcheck.core.issue import Issue, issue_table
from bimcheck.core.tables import Table
from bimcheck.reconcile.states import reconcile
from tests.write.test_issue_pictures import wall

bcf = pytest.importorskip("bcf.v2.bcfxml", reason="the BCF library is an extra")
bcf_file = pytest.importorskip("bimcheck.write.bcf_file")


@dataclass
class Made:
    tables: dict[str, Table]
    facts: dict[str, Any] = field(default_factory=lambda: {"written": "2024-05-06T07:08:09", "models": [{"name": "a.ifc"}, {"name": "b.ifc"}], "rules": []})
    units: str = "si"


def overlap(a: int = 5, b: int = 6, depth: float = 12.0, **more: Any) -> Issue:
    """Between two panels of storey 1: at 4000 mm along the facade, 1495 above ground."""
    return Issue("panel-overlap", "error", "the panels overlap", panel=a, other_panel=b, measured=depth, required=0.0, unit="mm",
                 group=f"panels overlap by {depth:g} mm", x=1e4 + 4000.0, y=0.0, z=500.0 + 1495.0, **more)


def written(folder: Path, issues: Table, tables: dict[str, Table]) -> Any:
    (path,) = bcf_file.write(Made({**tables, "issues": issues}), folder)
    return bcf.BcfXml.load(path)


def reconciled(tables: dict[str, Table], *issues: Issue, before: Table | None = None, typed: Table | None = None) -> Table:
    return reconcile(issue_table(issues), tables["elements"], before, typed)


def test_a_topic_says_what_the_group_says(tmp_path: Path) -> None:
    tables = wall()
    first = reconciled(tables, overlap(), Issue("true-north", "warning", "north", model="a.ifc", key="n"))
    typed = Table("typed", 1, {k: np.array([v], dtype=object) for k, v in
                               {"issue": first["issue"][0], "status": "ask", "assignee": "A. Body", "comment": "<b> & =1+1"}.items()})
    issues = reconciled(tables, overlap(), Issue("true-north", "warning", "north", model="a.ifc", key="n"), before=first, typed=typed)
    book = written(tmp_path, issues, tables)
    assert book.version.version_id == "2.1" and len(book.topics) == 2
    handler = next(t for t in book.topics.values() if t.topic.labels[0] == "panel-overlap")
    topic = handler.topic
    assert (topic.title, topic.topic_type, topic.topic_status, topic.priority, topic.assigned_to) == \
        ("panel-overlap: panels overlap by 12 mm", "Clash", "Open", "error", "A. Body")
    assert str(topic.creation_date) == "2024-05-06T07:08:09Z" and "12 of 0 mm" in topic.description
    assert [(c.author, c.comment) for c in handler.comments] == [("A. Body", f"{first['issue'][0]}: ask: <b> & =1+1")]
    assert [f.filename for f in handler.header.file] == ["a.ifc"]
    selected = [c.ifc_guid for c in handler.viewpoints["viewpoint.bcfv"].visualization_info.components.selection.component]
    assert selected == [f"{5:022d}", f"{6:022d}"]


def test_the_camera_stands_outside_and_the_members_are_in_view(tmp_path: Path) -> None:
    """Facade looks south (-y): both panels reach from 2000 to 5990 along it, 1000 to 1990 up; the window adds 1500 around."""
    tables = wall()
    book = written(tmp_path, reconciled(tables, overlap()), tables)
    (handler,) = book.topics.values()
    seen = handler.viewpoints["viewpoint.bcfv"].visualization_info.perspective_camera
    at, towards, up = (np.array([p.x, p.y, p.z]) for p in (seen.camera_view_point, seen.camera_direction, seen.camera_up_vector))
    assert seen.field_of_view == 60.0
    assert (towards.tolist(), up.tolist()) == ([0.0, 1.0, 0.0], [0.0, 0.0, 1.0])
    width = 3990 + 2 * 1500
    high = width / (4 / 3)
    assert at == pytest.approx([10 + (2000 + 5990) / 2e3, -(high / 2 / np.tan(np.radians(30))) / 1e3, 0.5 + (1000 + 1990) / 2e3], abs=1e-3)
    for corner in ((12.0, 1.5), (15.99, 2.49)):  # x, z in m: half the field of view upright, and across by 4 to 3
        off = np.abs(np.array(corner) - at[[0, 2]]) / abs(at[1])
        assert off[1] < np.tan(np.radians(30)) and off[0] < np.tan(np.radians(30)) * 4 / 3


def test_every_topic_has_a_snapshot_that_shows_the_mark(tmp_path: Path) -> None:
    tables = wall()
    issues = reconciled(tables, overlap(), Issue("true-north", "warning", "north", model="a.ifc", key="n"))
    (path,) = bcf_file.write(Made({**tables, "issues": issues}), tmp_path)
    with zipfile.ZipFile(path) as archive:
        pictures = {n: Image.open(io.BytesIO(archive.read(n))) for n in archive.namelist() if n.endswith("snapshot.png")}
        assert len(pictures) == 2 and {p.size for p in pictures.values()} == {(800, 600)}
        topic = next(n.split("/")[0] for n in archive.namelist() if n.endswith("markup.bcf") and b"panel-overlap" in archive.read(n))
    image = np.asarray(pictures[f"{topic}/snapshot.png"])
    assert tuple(image[300, 400]) == (0xD5, 0x5E, 0x00)  # the mark lies in the middle of the window, within a mm


def test_ids_stay_when_figures_and_members_change_and_same_bytes(tmp_path: Path) -> None:
    tables = wall()
    one = reconciled(tables, overlap(depth=12.0), overlap(9, 10, 12.0))
    two = reconciled(tables, overlap(depth=14.0), overlap(9, 10, 14.0), overlap(0, 1, 14.0), before=one)
    assert len(set(one["topic"])) == 1 and set(two["topic"]) == set(one["topic"])
    split = reconciled(tables, overlap(depth=14.0), overlap(9, 10, 20.0), overlap(0, 1, 14.0), before=two)
    by_group = dict(zip(split["group"].tolist(), split["topic"].tolist(), strict=True))
    assert by_group["panel-overlap: panels overlap by 14 mm"] == one["topic"][0] != by_group["panel-overlap: panels overlap by 20 mm"]
    paths = [bcf_file.write(Made({**tables, "issues": split}), folder)[0] for folder in (tmp_path, tmp_path / "again") if folder.mkdir(exist_ok=True) is None]
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_two_projects_never_share_a_topic() -> None:
    here, there = wall(), wall()
    there["elements"] = there["elements"].with_columns(guid=np.array([f"9{i:021d}" for i in range(12)], dtype=object))
    assert reconciled(here, overlap())["topic"][0] != reconciled(there, overlap())["topic"][0]


def test_what_is_gone_is_closed(tmp_path: Path) -> None:
    tables = wall()
    before = reconciled(tables, overlap())
    book = written(tmp_path, reconciled(tables, before=before), tables)
    (handler,) = book.topics.values()
    assert handler.topic.topic_status == "Closed" and handler.topic.guid == before["topic"][0]


def test_an_issue_of_what_is_no_panel_has_a_topic_too(tmp_path: Path) -> None:
    tables = wall()
    issues = reconciled(tables, Issue("no-geometry", "error", "no body", panel=11))
    book = written(tmp_path, issues, {**tables, "panels": tables["panels"].take(np.arange(4))})
    (handler,) = book.topics.values()
    seen = handler.viewpoints["viewpoint.bcfv"].visualization_info
    assert [c.ifc_guid for c in seen.components.selection.component] == [f"{11:022d}"] and seen.perspective_camera is None


def test_a_file_in_the_way_is_one_line(tmp_path: Path) -> None:
    (tmp_path / ".issues.bcf.part").mkdir()
    with pytest.raises(bcf_file.InputError, match="cannot be written"):
        bcf_file.write(Made({**wall(), "issues": reconciled(wall(), overlap())}), tmp_path)

"""issues.bcf: the issues as topics that modelling programs open beside the model (BCF 2.1, buildingSMART).

Ids follow from the groups, so that importing a later file updates topics instead of doubling them; the same result gives
the same bytes.
"""

from __future__ import annotations

import os
import uuid
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import bcf.v2.model as mdl
import numpy as np
from bcf.xml_parser import XmlParserSerializer
from xsdata.models.datatype import XmlDateTime

from bimcheck.core.errors import InputError
from bimcheck.core.tables import Table
from bimcheck.write.bcf_topics import Topic, topics
from bimcheck.write.bcf_views import FIELD_OF_VIEW, View, snapshot, view_of
from bimcheck.write.junit import clean
from bimcheck.write.workbook_issues_rows import in_order

AUTHOR = "bimcheck"
PANEL, OTHER = "D55E00", "0072B2"  # vermillion and blue
EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip knows


def write(result: Any, folder: Path) -> list[Path]:
    """issues.bcf: one topic a group, with a view from outside, the elements and a snapshot."""
    path = Path(folder) / "issues.bcf"
    part = path.with_name(f".{path.name}.part")
    try:
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in files(result):
                archive.writestr(zipfile.ZipInfo(name, EPOCH), data, zipfile.ZIP_DEFLATED)
        os.replace(part, path)
    except OSError as problem:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise InputError(f"cannot be written: {problem.strerror}", str(path), "close the program that has it open") from problem
    return [path]


def files(result: Any) -> Iterator[tuple[str, bytes]]:
    """Name and content of every file in the archive."""
    xml, panels = XmlParserSerializer(), result.tables["panels"]
    when, models = _moment(str(result.facts.get("written", ""))), [str(m["name"]) for m in result.facts.get("models", [])]
    rules = {r["name"]: r["summary"] for r in result.facts.get("rules", []) if r["check"]}
    row = np.full(result.tables["elements"].n, -1)
    row[panels["element"]] = np.arange(panels.n)
    yield "bcf.version", xml.serialize(mdl.Version(version_id="2.1", detailed_version="2.1")).encode()
    for topic in topics(in_order(result.tables["issues"], result.units), rules):
        view = _view(panels, row, topic)
        yield f"{topic.guid}/markup.bcf", xml.serialize(_markup(topic, when, models)).encode()
        yield f"{topic.guid}/viewpoint.bcfv", xml.serialize(_visible(topic, view)).encode()
        yield f"{topic.guid}/snapshot.png", snapshot(panels, view, topic.open_, f"{topic.number}  {topic.title}")


def _view(panels: Table, row: np.ndarray, topic: Topic) -> View | None:
    named = np.concatenate([topic.open_["panel"], topic.open_["other_panel"]])
    rows = row[named[named >= 0]]
    return view_of(panels, np.unique(rows[rows >= 0]))


def _moment(written: str) -> XmlDateTime:
    """Time of the run's record: SOURCE_DATE_EPOCH, else the first model's own; never the clock's."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    try:
        moment = datetime.fromtimestamp(int(epoch), UTC) if epoch.isdigit() else datetime.fromisoformat(written)
    except ValueError:
        moment = datetime(*EPOCH)
    return XmlDateTime.from_datetime(moment if moment.tzinfo else moment.replace(tzinfo=UTC))


def _derived(topic: Topic, what: str) -> str:
    return str(uuid.uuid5(uuid.UUID(topic.guid), f"bimcheck/{what}"))


def _markup(topic: Topic, when: XmlDateTime, models: Iterable[str]) -> mdl.Markup:
    used = {*topic.members["model"].tolist(), *topic.members["other_model"].tolist()}
    header = mdl.Header(file=[mdl.HeaderFile(filename=m, date=when, reference=m, is_external=True) for m in models if m in used])
    view = _derived(topic, "view")
    about = mdl.Topic(
        guid=topic.guid, topic_type=topic.kind, topic_status=topic.status, title=clean(topic.title), priority=topic.severity, index=topic.number,
        labels=[clean(x) for x in topic.labels], creation_date=when, creation_author=AUTHOR, modified_date=when, modified_author=AUTHOR,
        assigned_to=clean(topic.assigned) or None, description=clean(topic.description))
    notes = [mdl.Comment(date=when, author=clean(n.who) or "coordinator", comment=clean(n.text), guid=_derived(topic, f"note/{n.issue}"),
                         viewpoint=mdl.CommentViewpoint(guid=view)) for n in topic.notes]
    views = [mdl.ViewPoint(guid=view, viewpoint="viewpoint.bcfv", snapshot="snapshot.png", index=0)]
    return mdl.Markup(header=header if header.file else None, topic=about, comment=notes, viewpoints=views)


def _visible(topic: Topic, view: View | None) -> mdl.VisualizationInfo:
    panels = set(topic.open_["guid"].tolist())
    listed = [mdl.Component(ifc_guid=g) for g in topic.components]
    colours = [(colour, [c for c in listed if (c.ifc_guid in panels) == own]) for colour, own in ((PANEL, True), (OTHER, False))]
    components = mdl.Components(
        selection=mdl.ComponentSelection(component=listed), visibility=mdl.ComponentVisibility(default_visibility=True),
        coloring=mdl.ComponentColoring(color=[mdl.ComponentColoringColor(color=c, component=held) for c, held in colours if held])) if listed else None
    return mdl.VisualizationInfo(guid=_derived(topic, "view"), components=components, perspective_camera=_camera(view) if view else None)


def _camera(view: View) -> mdl.PerspectiveCamera:
    x, y, z = (round(float(c) / 1000.0, 4) for c in view.camera)  # metres
    return mdl.PerspectiveCamera(camera_view_point=mdl.Point(x=x, y=y, z=z), camera_direction=_direction(-view.n),
                                 camera_up_vector=_direction(view.v), field_of_view=FIELD_OF_VIEW)


def _direction(vector: np.ndarray) -> mdl.Direction:
    x, y, z = (round(float(c), 6) + 0.0 for c in vector)
    return mdl.Direction(x=x, y=y, z=z)

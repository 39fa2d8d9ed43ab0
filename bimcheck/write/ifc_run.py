"""The run record, the block's first entity, and the owner history that IFC2X3 demands of every rooted entity."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from bimcheck.core.ids import derived
from bimcheck.write.ifc_block import Block
from bimcheck.write.ifc_model import ModelFacts
from bimcheck.write.ours import RUN
from bimcheck.write.step_block import Insertion, record_text
from bimcheck.write.step_text import string

OWNER_ENTITIES = 5  # person, organisation, both, application, history


@dataclass(frozen=True)
class Run:
    """What the record says of the run.  written: date and time, ISO 8601, from the input or SOURCE_DATE_EPOCH."""

    version: str
    settings_sha256: str
    written: str
    extra: Mapping[str, str]


def owner_history(block: Block, run: Run) -> str:
    """Write one owner history; returns its reference.  Its time is the run's, never the clock's."""
    person = block.one("IFCPERSON($,'bimcheck',$,$,$,$,$,$)")
    organisation = block.one("IFCORGANIZATION($,'bimcheck',$,$,$)")
    both = block.one(f"IFCPERSONANDORGANIZATION({person},{organisation},$)")
    application = block.one(f"IFCAPPLICATION({organisation},{string(run.version)},'bimcheck','bimcheck')")
    return block.one(f"IFCOWNERHISTORY({both},{application},$,.ADDED.,$,$,$,{_seconds(run.written)})")


def _seconds(written: str) -> int:
    try:
        moment = datetime.fromisoformat(written.strip())
    except ValueError:
        return 0
    return max(int(moment.replace(tzinfo=moment.tzinfo or UTC).timestamp()), 0)


def record(place: Insertion, facts: ModelFacts, run: Run, owner: str, last: int) -> str:
    """The text of the record: `first` the set, then its relationship to the project, then its values.

    Takes exactly `record_size(run)` numbers from `place.first` on.
    """
    values = _values(place, run)
    first = place.first
    refs = ",".join(f"#{first + 2 + i}" for i in range(len(values)))
    lines = [
        f"#{first}=IFCPROPERTYSET('{derived(facts.project_guid, 'set', RUN)}',{owner},'{RUN}',"
        f"{string(record_text(place, last))},({refs}))",
        _link(first, facts, owner),
        *(f"#{first + 2 + i}=IFCPROPERTYSINGLEVALUE({string(name)},$,IFCTEXT({string(text)}),$)"
          for i, (name, text) in enumerate(values.items())),
    ]
    return "".join(f"{line};\n" for line in lines)


def _link(first: int, facts: ModelFacts, owner: str) -> str:
    guid = derived(facts.project_guid, "set-link", RUN)
    return f"#{first + 1}=IFCRELDEFINESBYPROPERTIES('{guid}',{owner},'{RUN}',$,(#{facts.project}),#{first})"


def _values(place: Insertion, run: Run) -> dict[str, str]:
    plain = {"Version": run.version, "OriginalSha256": place.sha256, "SettingsSha256": run.settings_sha256,
             "Written": run.written, **run.extra}
    return {name: text for name, text in plain.items() if text}


def record_size(place: Insertion, run: Run) -> int:
    return 2 + len(_values(place, run))

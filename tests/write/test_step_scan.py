"""Finding the DATA section and the entities of a STEP text (ISO 10303-21, clauses 5 to 9, from memory)."""

from __future__ import annotations

import re
import time

import ifcopenshell
import pytest

from bimcheck.core.errors import InputError
from bimcheck.write.step_scan import bounds, entities, largest_number, references, strings
from tests.shared import shared_models
from tests.write.step_samples import ODD, PLAIN, REFUSED


@pytest.mark.parametrize("name", ODD)
def test_the_section_of_every_allowed_oddity_is_found(name: str) -> None:
    data = ODD[name]
    found = bounds(data)
    assert data[found.end :].startswith(b"ENDSEC")
    assert re.match(rb"ENDSEC\s*;.*END-ISO-10303-21;", data[found.end :], re.S)
    assert b"#40" in data[found.data : found.end].replace(b"#00000000040", b"#40")
    assert b"HEADER" not in data[found.data :]
    assert (found.schema, found.time_stamp) == ("IFC4", "2020-01-01T00:00:00")  # as PLAIN states


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_appended_to_is_refused_in_one_line(name: str) -> None:
    with pytest.raises(InputError) as refused:
        largest_number(REFUSED[name], bounds(REFUSED[name], "x.ifc"))
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("name", ODD)
def test_entities_are_the_ones_written(name: str) -> None:
    data = ODD[name]
    found = list(entities(data, bounds(data)))
    more = {"dangling-reference": {50}, "complex-instance": {39}}.get(name, set())
    assert {e.number for e in found} == {1, 2, 3, 40} | more
    plate = next(e for e in found if e.number == 40)
    assert plate.type == b"IFCPLATE"
    assert data[plate.start : plate.start + 1] == b"#" and data[plate.end - 2 : plate.end] == b");"


def test_new_numbers_collide_with_nothing() -> None:
    largest = {name: largest_number(data, bounds(data)) for name, data in ODD.items()}
    assert largest["plain"] == 40 and largest["leading-zeros"] == 40
    assert largest["dangling-reference"] == 4711  # else an entity of ours would become what #4711 means
    assert largest["number-in-a-text"] == 40  # a text is no entity; only its size made the scanner look again
    assert all(n >= 40 for n in largest.values())


def test_numbers_across_the_scanners_own_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    for chunk in range(1, 40):
        monkeypatch.setattr("bimcheck.write.step_scan._CHUNK", chunk)
        assert largest_number(PLAIN, bounds(PLAIN)) == 40


def test_strings_and_references_respect_quotes_and_comments() -> None:
    text = b"#7=IFCX('it''s #8',#9,/* #10 'x' */(#11,$),'\\X2\\0041\\X0\\');"
    assert references(text) == [7, 9, 11]
    assert strings(text) == [b"it''s #8", b"\\X2\\0041\\X0\\"]


@pytest.mark.parametrize("kind", ["real", "truth"])
def test_models_have_the_entities_a_parser_finds(kind: str) -> None:
    for path in sorted(shared_models(kind).glob("*.ifc")):
        data = path.read_bytes()
        found = bounds(data, path.name)
        model = ifcopenshell.open(path)
        assert {e.number for e in entities(data, found)} == {e.id() for e in model}, path.name
        assert largest_number(data, found) >= max(e.id() for e in model)


def test_the_place_to_append_is_found_fast() -> None:
    """29 MB (a tower of 20,000 panels) in well under 0.3 s: the project's own target; here with room for a busy machine."""
    line = b"#123456=IFCRELDEFINESBYPROPERTIES('%022d',$,$,$,(#123,#4567,#89012),#345678);\n"
    data = PLAIN.replace(b"#40=", line * (29_000_000 // len(line)) + b"#40=")
    begun = time.process_time()
    assert largest_number(data, bounds(data)) == 345678
    assert time.process_time() - begun < 0.6

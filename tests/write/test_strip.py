"""Appending and stripping: the author's bytes are a prefix and a suffix, and come back with their hash."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import ifcopenshell
import pytest

from bimcheck.core.ids import derived
from bimcheck.write.step_block import append, insertion
from bimcheck.write.strip import strip, without
from tests.shared import shared_models
from tests.write.step_samples import ODD, PANEL, PLAIN, block


@pytest.mark.parametrize("name", ODD)
def test_original_bytes_around_the_block_and_back(name: str) -> None:
    data = ODD[name]
    place = insertion(data)
    enriched = append(place, block(place))
    at = place.bounds.end
    assert enriched[:at] == data[:at] and enriched.endswith(data[at:]) and len(enriched) > len(data)
    back = strip(enriched)
    assert sha256(back.data).hexdigest() == place.sha256
    assert back.exact and back.removed == 7  # the seven entities of `block`


@pytest.mark.parametrize("name", ODD)
def test_reruns_give_the_same_bytes(name: str) -> None:
    data = ODD[name]
    runs = []
    for _ in range(3):
        place = insertion(strip(data).data)
        data = append(place, block(place))
        runs.append(data)
    assert runs[0] == runs[1] == runs[2]


def test_line_ends_follow_the_file() -> None:
    place = insertion(ODD["crlf"])
    assert b"\n" not in append(place, block(place)).replace(b"\r\n", b"")


def test_a_file_without_ours_comes_back_as_it_is() -> None:
    assert strip(PLAIN).data == PLAIN and strip(PLAIN).removed == 0


def test_saved_again_by_another_program_ours_go_by_statement(tmp_path: Path) -> None:
    author = ODD["lines-broken-anywhere"]
    place = insertion(author)
    back = strip(_saved(append(place, block(place)), tmp_path))
    assert back.data == _saved(author, tmp_path)
    assert back.removed == 7 and not back.exact


def test_a_header_changed_by_hand_still_strips_but_is_not_exact() -> None:
    place = insertion(PLAIN)
    changed = append(place, block(place)).replace(b"a.ifc", b"b.ifc")
    back = strip(changed)
    assert back.data == PLAIN.replace(b"a.ifc", b"b.ifc") and not back.exact


def test_a_set_renamed_to_a_house_standard_is_still_ours() -> None:
    place = insertion(PLAIN)
    changed = append(place, block(place, "House_Wind")).replace(b"a.ifc", b"b.ifc")
    assert b"House_Wind" not in strip(changed).data


def test_theirs_stay_even_under_our_name() -> None:
    """A copy of our set that another program gave an id of its own is the author's."""
    theirs = PLAIN.replace(
        b"ENDSEC;\nEND-ISO", b"#60=IFCPROPERTYSET('2O2Fr$t4X7Zf8NOew3FLOH',$,'Bimcheck_Wind',$,(#61));\n"
        b"#61=IFCPROPERTYSINGLEVALUE('A',$,IFCREAL(9.),$);\nENDSEC;\nEND-ISO")
    place = insertion(theirs)
    assert strip(append(place, block(place)).replace(b"a.ifc", b"b.ifc")).data == theirs.replace(b"a.ifc", b"b.ifc")


def test_what_the_author_hung_on_ours_does_not_dangle() -> None:
    place = insertion(PLAIN)
    ours = place.first + 3
    added = (f"#900=IFCRELASSOCIATESDOCUMENT('2O2Fr$t4X7Zf8NOew3FLOH',$,$,$,(#{ours}),#901);\n"
             f"#902=IFCRELASSIGNSTOGROUP('2O2Fr$t4X7Zf8NOew3FLOI',$,$,$,(#40,#{ours}),$,#903);\nENDSEC;\nEND-ISO").encode()
    changed = append(place, block(place)).replace(b"ENDSEC;\nEND-ISO", added)
    back = strip(changed).data
    assert b"#900=" not in back, "a relationship to nothing"
    assert b"'2O2Fr$t4X7Zf8NOew3FLOI',$,$,$,(#40),$,#903);" in back


def test_taking_numbers_out_of_lists() -> None:
    gone = {5, 6}
    assert without(b"#1=IFCX($,(#4,#5,#6),'#5,(');", gone) == b"#1=IFCX($,(#4),'#5,(');"
    assert without(b"#1=IFCX($,(#5, #4 ,#6));", gone) == b"#1=IFCX($,( #4 ));"
    assert without(b"#1=IFCX($,((#5,#4),(#6)));", gone) == b"#1=IFCX($,((#4)));"
    assert without(b"#1=IFCX($,(#5,#6));", gone) is None
    assert without(b"#1=IFCX(#5,(#4));", gone) is None
    assert without(b"#1=IFCX(/* #5 */$,IFCLABEL('a,b'));", gone) == b"#1=IFCX(/* #5 */$,IFCLABEL('a,b'));"


def test_duplicated_ids_of_panels_are_told_apart_by_their_ordinal() -> None:
    from_third = PLAIN.replace(b"a.ifc", b"b.ifc")
    place = insertion(PLAIN)
    first = "".join(block(place, key="Bimcheck_Status"))
    for slot in ("set", "set-link"):
        first = first.replace(_id(slot, 0), _id(slot, 3))
    assert strip(append(place, [first]).replace(b"a.ifc", b"b.ifc")).data == from_third


def _id(kind: str, ordinal: int) -> str:
    return derived(PANEL, kind, "Bimcheck_Status", ordinal)


@pytest.mark.parametrize("kind", ["real", "truth"])
def test_models_keep_their_bytes(kind: str) -> None:
    for path in sorted(shared_models(kind).glob("*.ifc")):
        data = path.read_bytes()
        place = insertion(data, path.name)
        enriched = append(place, block(place))
        assert enriched[: place.bounds.end] == data[: place.bounds.end] and enriched.endswith(data[place.bounds.end :])
        assert strip(enriched).data == data and strip(enriched).exact


def _saved(data: bytes, folder: Path) -> bytes:
    path = folder / "again.ifc"
    model = ifcopenshell.file.from_string(data.decode("ascii"))
    model.write(str(path))
    return path.read_bytes()

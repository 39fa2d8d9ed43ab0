"""Series files as laboratories send them, good and bad: the right answer, or one clear line with row and column."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from bimcheck.core.errors import InputError
from bimcheck.pullout.columns import COLUMNS, template
from bimcheck.pullout.groups import groups_of
from bimcheck.pullout.read import read
from bimcheck.pullout.settings import Qualification
from tests.pullout.series import HEAD, LOADS, TODAY, lines, row, table

SHORT = "material,thickness_mm,embedment_mm,edge_mm,load_kN"


def _refused(data: bytes | str | list[str], *words: str) -> str:
    with pytest.raises(InputError) as problem:
        table(data)
    text = str(problem.value)
    assert "\n" not in text
    assert not [w for w in words if w not in text], text
    return text


def test_values_in_newtons_and_millimetres() -> None:
    t = table([row(3.42)])
    assert (t["value"][0], t["thickness"][0], t["embedment"][0]) == (3420.0, 30.0, 15.0)


@pytest.mark.parametrize(("head", "load", "newtons"), [
    ("load_kN", "3.42", 3420.0), ("load_N", "3420", 3420.0), ("Load [lbf]", "800", 800 * 4.4482216152605),
    ("load (kN)", "3.42 kN", 3420.0), ("load", "800 lbf", 800 * 4.4482216152605), ("breaking load kN", "3.42", 3420.0)])
def test_units_of_loads(head: str, load: str, newtons: float) -> None:
    """1 lbf = 4.4482216152605 N by definition (0.45359237 kg, 9.80665 m/s2)."""
    assert table(f"material,thickness_mm,embedment_mm,edge_mm,{head}\ng,30,15,100,{load}\n")["value"][0] == pytest.approx(newtons)


def test_inches_and_a_unit_column() -> None:
    """1 in = 25.4 mm by definition."""
    t = table("material,thickness_in,embedment_in,edge_in,load,load_unit\ng,1.25,0.5,4,800,lbf\ng,1.25,0.5,4,3.6,kN\n")
    assert t["thickness"][0] == pytest.approx(31.75)
    assert t["value"] == pytest.approx([800 * 4.4482216152605, 3600.0])


def test_mixed_units_without_a_unit_column() -> None:
    _refused("material,thickness_mm,embedment_mm,edge_mm,load\ng,30,15,100,3.4\n", "s.csv, row 2", "column load", "no unit", "load_unit")
    _refused(f"{SHORT}\n" + "g,30,15,100,3.4\n" * 4 + "g,30,15,100,3400\n", "row 6", "load_kN", "unit")
    _refused(f"{SHORT}\n" + "g,30,15,100,3.4\n" * 4 + "g,30,15,100,340\n", "row 6", "one unit")
    _refused(f"{SHORT}\ng,30,15,100,800 lbf\n", "row 2", "two units")
    _refused("material,thickness_mm,embedment_mm,edge_mm,load_t\ng,30,15,100,3.4\n", "'t'", "kN, N, lbf")


def test_unknown_and_missing_columns() -> None:
    _refused(f"{SHORT},thicknes\ng,30,15,100,3.4,3\n", "unknown column 'thicknes'", "column 6", "did you mean 'thickness'")
    _refused("material,embedment_mm,edge_mm,load_kN\ng,15,100,3.4\n", "'thickness' is missing", "--template")
    _refused("material,thickness_mm,edge_mm\ng,30,100\n", "'load' is missing")
    _refused("material,thickness_mm,edge_mm,load_kN\ng,30,100,3.4\n", "row 2", "embedment")
    _refused(f"{SHORT},load_kN\ng,30,15,100,3.4,3.4\n", "stands twice")


@pytest.mark.parametrize(("load", "word"), [("-3.4", "not above zero"), ("0", "not above zero"), ("n/a", "not a number"),
                                            ("3.4?", "not a number"), ("1e400", "too great"), ("nan", "not a number"), ("", "no load")])
def test_loads_that_are_none(load: str, word: str) -> None:
    _refused([row(3.42), row(load)], "s.csv, row 3", "column load", word)


def test_all_rows_to_correct_are_named() -> None:
    assert "2 more rows to correct: 4, 5" in _refused([row(3.4), row("x"), row("y"), row(-1)], "row 3")


def test_one_specimen_has_no_characteristic_value() -> None:
    (group,) = groups_of(table([row(3.4)]), Qualification())
    assert group.described.n == 1
    assert np.isnan(group.characteristic.governing)


def test_all_values_equal() -> None:
    (group,) = groups_of(table([row(3.3)] * 12), Qualification())
    assert group.described.s == 0.0
    assert group.characteristic.governing == pytest.approx(3300.0)


@pytest.mark.parametrize("text", [
    "material;thickness_mm;embedment_mm;edge_mm;load_kN\ng;30;15;100;3,42\ng;30;15;100;3,5\n",
    'material,thickness_mm,embedment_mm,edge_mm,load_kN\ng,30,15,100,"3,42"\ng,30,15,100,"3,5"\n',
    "material\tthickness_mm\tembedment_mm\tedge_mm\tload_kN\ng\t30\t15\t100\t3,42\ng\t30\t15\t100\t3,5\n"])
def test_decimals_with_comma(text: str) -> None:
    assert table(text)["value"] == pytest.approx([3420.0, 3500.0])


def test_a_comma_that_may_be_a_factor_of_a_thousand() -> None:
    _refused('material,thickness_mm,embedment_mm,edge_mm,load_kN\ng,30,15,100,"3,420"\n', "row 2", "may mean 3.420 or 3420")
    # Even beside a decimal point: the row may come from elsewhere.
    _refused(f'{SHORT}\ng,30,15,100,3.42\ng,30,15,100,"3,420"\n', "row 3", "may mean")
    both = table('material,thickness_mm,embedment_mm,edge_mm,load_N\ng,30,15,100,"3,420.5"\ng,30,15,100,3 420\n')
    assert both["value"] == pytest.approx([3420.5, 3420.0])


def test_an_unquoted_decimal_comma_is_not_taken_apart() -> None:
    _refused(f"{SHORT}\ng,30,15,100,3,42\n", "row 2", "6 cells under 5 headings")


def test_dates() -> None:
    _refused([row(3.4, day="2027-01-01")], "row 2", "column date", "2026-11-25")
    _refused([row(3.4, day="03/04/2026")], "row 2", "column date", "one way only")
    _refused([row(3.4, day="2026-02-30")], "row 2", "column date")
    assert table([row(3.4, day="2.3.2026")])["date"][0] == "2026-03-02"
    assert table(lines([row(3.4, day="2027-01-01")]), date(2027, 1, 1))["date"][0] == "2027-01-01"


def test_ten_thousand_rows_and_nothing_lost() -> None:
    loads = np.random.default_rng(5).normal(3.6, 0.3, 10_000).round(3)
    t = table([row(x, colour=f"c{i % 7}") for i, x in enumerate(loads)])
    groups = groups_of(t, Qualification())
    assert sum(g.described.n for g in groups) == t.n == 10_000
    assert np.sort(np.concatenate([g.x for g in groups])) == pytest.approx(np.sort(loads * 1000))


def test_names_that_look_like_formulas_stay_words() -> None:
    assert table([row(3.4, colour="=1+1", material="@granite")])["colour"][0] == "=1+1"


def test_upper_and_lower_case_and_spaces_do_not_split_a_group() -> None:
    (group,) = groups_of(table([row(3.4, colour="Grey"), row(3.5, colour=" grey"), row(3.6, condition="DRY")]), Qualification())
    assert group.described.n == 3


@pytest.mark.parametrize("change", [
    {"material": "limestone"}, {"colour": "red"}, {"thickness": 40}, {"condition": "wet"}, {"embedment": 12}, {"edge": 50}, {"ring": 70}])
def test_what_must_not_be_mixed_is_a_group_of_its_own(change: dict[str, object]) -> None:
    groups = groups_of(table([row(3.4), row(3.5, **change)]), Qualification())  # type: ignore[arg-type]
    assert [g.described.n for g in groups] == [1, 1]


def test_other_kinds_of_files() -> None:
    _refused(b"PK\x03\x04rest", "workbook", "CSV")
    _refused(b"", "no heading")
    _refused(f"{HEAD}\n", "no rows")
    _refused(b"\x00\x01\x02", "not a text file")
    assert table(b"\xef\xbb\xbf" + lines([row(3.4, colour="gr\u00fcn")]))["colour"][0] == "gr\u00fcn"
    assert table(lines([row(3.4, colour="gr\u00fcn")]).decode().encode("cp1252"))["colour"][0] == "gr\u00fcn"
    assert table(lines([row(3.4), row(3.5)]).replace(b"\n", b"\r\n")).n == 2


def test_geometry_that_cannot_be() -> None:
    _refused([row(3.4, embedment=30)], "row 2", "embedment")
    _refused([row(3.4, thickness=3000)], "row 2", "thickness")


@pytest.mark.parametrize(("name", "cell"), [("load_kN", 1e305), ("load_kN", 1e-5), ("edge_mm", 0.1), ("edge_mm", 2e4), ("ring_mm", 0.2)])
def test_sizes_that_no_specimen_has_mostly_a_unit_mixed_up(name: str, cell: float) -> None:
    """1 N to 1 MN and 1 mm to 10 m hold every specimen of a facade panel: common practice, no source."""
    key = name.partition("_")[0]
    specimen = row(cell) if key == "load" else row(3.4, **{key: cell})  # type: ignore[arg-type]
    _refused([specimen], "row 2", f"column {name}", "cannot be right")


def test_a_file_that_is_not_there(tmp_path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read(tmp_path / "none.csv", TODAY)


def test_flexural_rows_by_their_standard() -> None:
    """By hand: EN 12372 3 F l / (2 b h^2) = 12.5, EN 13161 F l / (b h^2) = 8.333, ASTM C880 3 W L / (4 b d^2) = 6.25."""
    head = "test,material,thickness_mm,standard,span_mm,width_mm,load_N"
    t = table(f"{head}\n" + "".join(f"flexural,g,30,{s},150,50,2500\n" for s in ("EN 12372", "EN 13161", "ASTM C880")))
    assert t["value"] == pytest.approx([12.5, 25 / 3, 6.25])
    _refused(f"{head}\nflexural,g,30,EN 12372,,50,2500\n", "row 2", "column span")
    _refused(f"{head}\nflexural,g,30,EN 1,150,50,2500\n", "row 2", "column standard")


def test_flexural_groups_are_log_normal() -> None:
    head = "test,material,thickness_mm,standard,strength_MPa"
    (group,) = groups_of(table(f"{head}\n" + "".join(f"flexural,g,30,EN 12372,{10 * x}\n" for x in LOADS)), Qualification())
    assert group.characteristic.rule == "lognormal"


def test_the_template_reads_and_explains_every_column() -> None:
    assert table(template()).n == 3
    assert all(f"# {column.name}" in template() for column in COLUMNS)

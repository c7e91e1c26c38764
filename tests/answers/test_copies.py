"""A folder with dated copies of a config is one machine, and the page of several has their table.

The form of the names is the firmware's own for its backups (from memory), and common practice.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from every import every
from tiers import only_wide, wide

from advisor.answers.asks import Asks
from advisor.answers.lint import check
from advisor.answers.which_configs import without_copies
from advisor.cli.report_parts import gathered
from advisor.report.html import render

BARE = Path(__file__).resolve().parents[2] / "samples" / "no-sheet" / "printer.cfg"
NAMES = (
    (["printer.cfg", "printer-20260131_204500.cfg"], ["printer.cfg"]),
    (["printer.cfg", "printer_2026-01-31.cfg", "printer.20250131.cfg"], ["printer.cfg"]),
    (["old-20250101.cfg", "old-20260101.cfg"], ["old-20260101.cfg"]),
    (["printer.cfg", "printer-2.cfg", "spare.cfg"], ["printer.cfg", "printer-2.cfg", "spare.cfg"]),
    (["printer.cfg", "bench-20260131.cfg"], ["printer.cfg", "bench-20260131.cfg"]),
    (["printer.cfg", "printer-99991399.cfg"], ["printer.cfg", "printer-99991399.cfg"]),
)


@every("names, kept", NAMES)
def test_dated_copies_stand_for_their_config(names: list[str], kept: list[str]) -> None:
    """The config itself, else its newest copy; nothing is lost between the two lists."""
    left, copies = without_copies(names)
    assert left == kept
    assert sorted([*left, *copies]) == sorted(names)


def test_a_folder_says_what_it_left_out_and_a_named_copy_is_read(tmp_path: Path) -> None:
    """One machine for a folder with a copy; the copy is read where it is named."""
    copy = tmp_path / "printer-20260131_204500.cfg"
    shutil.copy(BARE, tmp_path / "printer.cfg")
    shutil.copy(BARE, copy)
    report = check(tmp_path, Asks())
    assert [one.config for one in report.extruders] == [str(tmp_path / "printer.cfg")]
    assert report.copies == (str(copy),)
    assert check(copy, Asks()).copies == ()
    assert len(check(copy, Asks()).extruders) == 1


@wide
@only_wide
def test_a_page_of_several_machines_begins_with_their_table(tmp_path: Path) -> None:
    """One row a machine, before anything else is told of one, with the figures of its part."""
    for name in ("one.cfg", "two.cfg"):
        shutil.copy(BARE, tmp_path / name)
    page = render(gathered([str(tmp_path)], Asks()))
    head = page.index("All machines on this page")
    assert head < page.index('id="c1-config"')
    table = page[head : page.index("</table>", head)]
    assert table.count("<tr>") == 3
    for number, report in enumerate(check(tmp_path, Asks()).extruders, 1):
        assert f'href="#c{number}-config"' in table
        band = report.facts["flow.capacity"].band
        assert band is not None
        assert f'value="{band.value:.9g}"' in table

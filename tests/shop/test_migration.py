"""Shops of an older format open, are told what changed and are kept; newer ones are refused."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from inksim.cli.commands import main
from inksim.common.errors import InputError, ShopFaults
from inksim.shop.edit import open_draft, save, undo
from inksim.shop.fresh import new_shop
from inksim.shop.load import changes_of, demo_shop_folder, load_shop
from inksim.shop.migration import FORMAT, FORMAT_1_PARAMETERS, format_of, kept_folder
from inksim.shop.press_file import press_text, save_press
from inksim.stock.press import Press, PressValues
from tests.small_shop import write

LOOK = '[[ink]]\nname = "hex"\nkind = "white-base"\nsolids_by_volume = 0.4\nhex = "#f0f0ee"\n'
OLD = '=# our shop\nname = "Old shop"\nscenario = "an old one"\n'
NEW = len(PressValues._fields) - len(FORMAT_1_PARAMETERS)


def old_correlation() -> np.ndarray:
    """Of the parameters of format 1, and of K and S of one ink: no two entries the same."""
    size = len(FORMAT_1_PARAMETERS) + 2
    table = np.eye(size)
    for i in range(size):
        for j in range(i):
            table[i, j] = table[j, i] = round(0.001 * (i * size + j) / size, 4)
    return table


def old_press(
    *, rows: np.ndarray | None = None, known: tuple[str, ...] = FORMAT_1_PARAMETERS
) -> str:
    """press.toml as a calibration of format 1 wrote it, or one that knew other parameters."""
    rows = old_correlation() if rows is None else rows
    prior = "".join(
        f"{name} = {{value = {getattr(Press, name).value}, sd = {getattr(Press, name).sd}}}\n"
        for name in known
    )
    table = ",\n".join("[" + ", ".join(f"{v:g}" for v in row) + "]" for row in rows)
    return (
        '=name = "press"\ncalibrated = true\n[parameters]\nrelease = {value = 0.5, sd = 0.02}\n'
        "[calibration]\nversion = 1\nreadings = 6\n"
        f"correlation = [{table}]\n"
        f"[calibration.prior]\n{prior}"
        '[[calibration.ink]]\nname = "ember"\n'
        "K = {value = 1.1, sd = 0.05}\nS = {value = 0.9, sd = 0.1}\n"
    )


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return write(tmp_path, shop=OLD, inks=LOOK, press=old_press())


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*.toml")}


def test_the_demo_shop_and_a_new_one_are_of_the_newest_format(tmp_path: Path) -> None:
    assert format_of(demo_shop_folder()) == FORMAT
    assert load_shop().changes == ()
    made = new_shop(tmp_path / "mine", name="Mine")
    assert format_of(made) == FORMAT
    assert load_shop(made).name == "Mine"


def test_an_old_shop_opens_and_tells_what_changed(old: Path) -> None:
    shop = load_shop(old)
    assert (shop.name, shop.format) == ("Old shop", 1)
    told = " ".join(shop.changes)
    assert not (old / kept_folder(1)).exists()
    assert "of format 1" in told
    assert "hex: how an ink known by its color alone covers is assumed by kind" in told
    assert "ember" not in told  # its K and S say how it covers
    assert changes_of(old) == shop.changes
    assert shop.inks["hex"].S.min() > 0.1  # no longer clear, as a white of 0.01 per µm would be
    if NEW:
        assert "The press was calibrated before it had" in told
        assert "calibrate again" in told


def test_the_first_save_keeps_a_copy_and_later_ones_tell_nothing(old: Path) -> None:
    before = files(old)
    draft = open_draft(old, "ink")
    save(draft.replace("ink", "hex", {**draft.entry("ink", "hex"), "covers": "black"}))
    kept = old / kept_folder(1)
    assert files(kept) == before
    about = (old / "shop.toml").read_text("utf-8")
    assert tomllib.loads(about)["format"] == FORMAT
    assert about.startswith("# our shop\n")
    shop = load_shop(old)
    assert (shop.changes, shop.format, shop.scenario) == ((), FORMAT, "an old one")
    assert "opacity assumed by kind" not in shop.inks["hex"].assumed
    # undo brings the one file back, readable in the new format; the copy stays as it was
    undo(old)
    assert (old / "inks.toml").read_bytes() == before["inks.toml"]
    assert load_shop(old).inks["hex"].assumed[0] == "opacity assumed by kind"
    assert files(kept) == before


def test_a_refused_save_changes_no_format(old: Path) -> None:
    before = files(old)
    with pytest.raises(InputError, match="the shop would have this fault"):
        save(open_draft(old, "ink").add("ink", {"name": "bad", "kind": "color"}))
    assert files(old) == before
    assert not (old / kept_folder(1)).exists()


def test_copies_of_two_migrations_are_both_kept(old: Path) -> None:
    before = files(old)
    save(open_draft(old, "ink").remove("ink", "hex"))
    for name, data in before.items():
        (old / name).write_bytes(data)
    save(open_draft(old, "ink").remove("ink", "hex"))
    assert files(old / kept_folder(1)) == files(old / f"{kept_folder(1)}-2") == before


@pytest.mark.parametrize("other", ["", 'name = "x"\nshade = 3\n'])
def test_a_newer_format_is_refused_whatever_else_is_wrong(tmp_path: Path, other: str) -> None:
    write(tmp_path, shop=f'=name = "Next"\nformat = {FORMAT + 1}\n', inks=other)
    with pytest.raises(InputError, match=r"is of format 3, and this inksim reads formats up to 2"):
        load_shop(tmp_path)
    before = files(tmp_path)
    result = run("remove", "ink", "ember", "--shop", tmp_path)
    assert result.exit_code == 2
    assert "of format 3" in result.stderr
    assert files(tmp_path) == before


@pytest.mark.parametrize("value", ['"2"', "0", "true", "1.5"])
def test_a_format_that_is_none_is_a_fault_beside_the_others(tmp_path: Path, value: str) -> None:
    write(tmp_path, shop=f"format = {value}\n".join(['=name = "x"\n', ""]), inks="[[ink]]\n")
    with pytest.raises(ShopFaults) as told:
        load_shop(tmp_path)
    assert any(fault.startswith("shop.toml, format:") for fault in told.value.faults)
    assert any(fault.startswith("inks.toml") for fault in told.value.faults)


def test_commands_tell_once_what_changed(old: Path) -> None:
    shown = run("shop", "--shop", old)
    assert shown.exit_code == 0
    assert shown.stderr.count("this shop is of format 1") == 1
    added = run("add", "target", "--name", "T", "--hex", "#204060", "--shop", old)
    assert added.exit_code == 0
    assert added.stderr.count("this shop is of format 1") == 1
    assert "this shop is of format 1" not in run("shop", "--shop", old).stderr


# -- A calibrated press of the old format


def test_the_correlation_of_an_old_press_is_kept_by_name(old: Path) -> None:
    was = old_correlation()
    press = load_shop(old).press
    table = np.array(press.correlation)
    size = len(PressValues._fields)
    assert table.shape == (size + 2, size + 2)
    names = [*PressValues._fields, "K", "S"]
    known = [*FORMAT_1_PARAMETERS, "K", "S"]
    for i, row in enumerate(names):
        for j, column in enumerate(names):
            if row in known and column in known:
                expected = was[known.index(row), known.index(column)]
            else:
                expected = float(i == j)
            assert table[i, j] == expected
    for name in set(PressValues._fields) - set(FORMAT_1_PARAMETERS):
        # as unsure as any, and without effect where it can have none: prints stay as predicted
        assert getattr(press, name).sd == getattr(Press, name).sd
        assert getattr(press, name).value in (0.0, getattr(Press, name).value)
    assert np.isfinite(press.covariance).all()


def test_a_press_calibrated_before_a_parameter_was_there_says_so(tmp_path: Path) -> None:
    known = tuple(name for name in FORMAT_1_PARAMETERS if name != "pick_up")
    at = FORMAT_1_PARAMETERS.index("pick_up")
    rows = np.delete(np.delete(old_correlation(), at, axis=0), at, axis=1)
    shop = load_shop(write(tmp_path, press=old_press(rows=rows, known=known)))
    assert "pick_up" in shop.press_lacks
    shown = run("shop", "--shop", tmp_path).stderr
    assert "The press was calibrated before it had" in shown
    assert "pick_up" in shown
    table = np.array(shop.press.correlation)
    mine = PressValues._fields.index("pick_up")
    assert table[mine].sum() == 1.0


def test_a_correlation_of_no_known_size_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(ShopFaults, match="correlation must be a symmetric"):
        load_shop(write(tmp_path, press=old_press(rows=np.eye(5))))


def test_a_press_calibrated_now_is_complete(old: Path) -> None:
    press = load_shop(old).press
    again = replace(press, source="six prints of today")
    save_press(old, again, day="2026-03-01", readings=6)
    shop = load_shop(old)
    assert shop.press_lacks == ()
    assert shop.press.correlation == press.correlation
    assert tomllib.loads((old / "press.toml").read_text("utf-8"))["format"] == 2
    # and the version before is kept as it was, and opens again
    text = press_text("# mine\n" + old_press()[1:], press, version=2, day="x", readings=6)
    assert text.startswith("# mine\n")
    assert tomllib.loads(text)["format"] == 2


def test_strengths_of_an_ink_that_is_another_now_are_told(tmp_path: Path) -> None:
    text = old_press().replace('name = "ember"', 'name = "ember"\nmark = "00000000"')
    shop = load_shop(write(tmp_path, shop=OLD, press=text))
    assert shop.press.strengths == ()
    assert any("ember: the calibrated strength was for another K and S" in w for w in shop.changes)

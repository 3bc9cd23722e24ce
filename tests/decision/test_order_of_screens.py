"""The order of the screens on a press: facts of the trade (common practice, no source)."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, strategies as st

from inksim.common.errors import InputError
from inksim.decision.order_of_screens import PrintedScreen, print_order

WHITE = PrintedScreen(name="white", lightness=95, is_base=True, flash=True)
DISCHARGE = PrintedScreen(name="discharge", lightness=90, is_base=True, discharges=True)
YELLOW = PrintedScreen(name="yellow", lightness=88, over=("white",))
RED = PrintedScreen(name="red", lightness=48, over=("white",))
BLACK = PrintedScreen(name="black", lightness=15)
CREAM = PrintedScreen(name="cream", lightness=86, over=("discharge",))
NAVY = PrintedScreen(name="navy", lightness=20, over=("discharge",))
TOP_WHITE = PrintedScreen(name="top white", lightness=95, over=("white",))
ALL = (BLACK, NAVY, RED, DISCHARGE, TOP_WHITE, CREAM, WHITE, YELLOW)


def names(screens: tuple[PrintedScreen, ...], **how: bool) -> list[str]:
    return [screens[at].name for at in print_order(screens, **how)]


def test_white_first_light_before_dark_discharge_and_its_colors_last() -> None:
    assert names(ALL) == [
        "white", "top white", "yellow", "red", "black", "discharge", "cream", "navy",
    ]  # fmt: skip


@pytest.mark.parametrize("screens", list(permutations((WHITE, YELLOW, RED, BLACK))))
def test_the_order_does_not_hang_on_how_screens_are_listed(
    screens: tuple[PrintedScreen, ...],
) -> None:
    assert names(screens) == ["white", "yellow", "red", "black"]


def test_a_shop_may_keep_its_own_order_of_colors() -> None:
    assert names((BLACK, YELLOW, WHITE, RED), light_before_dark=False) == [
        "white", "black", "yellow", "red",
    ]  # fmt: skip


def test_a_color_on_both_bases_waits_for_the_later() -> None:
    both = PrintedScreen(name="both", lightness=99, over=("white", "discharge"))
    assert names((both, DISCHARGE, WHITE)) == ["white", "discharge", "both"]


@given(
    st.lists(
        st.tuples(st.floats(0, 100), st.sampled_from([(), ("white",), ("discharge",)])), max_size=8
    )
)
def test_a_base_is_before_its_colors_and_nothing_is_lost(
    colours: list[tuple[float, tuple[str, ...]]],
) -> None:
    screens = [
        *(PrintedScreen(name=str(n), lightness=light, over=over)
          for n, (light, over) in enumerate(colours)),
        DISCHARGE,
        WHITE,
    ]  # fmt: skip
    order = print_order(screens)
    assert sorted(order) == list(range(len(screens)))
    place = {screens[index].name: at for at, index in enumerate(order)}
    for screen in screens:
        assert all(place[under] < place[screen.name] for under in screen.over)
    # nothing that is flashed comes after the discharge is on the shirt
    assert not any(screens[at].flash for at in order[place["discharge"] :])


@pytest.mark.parametrize(
    "flashed",
    [
        PrintedScreen(name="discharge", lightness=90, is_base=True, discharges=True, flash=True),
        PrintedScreen(name="cream", lightness=86, over=("discharge",), flash=True),
    ],
)
def test_a_discharge_is_never_flashed_while_wet(flashed: PrintedScreen) -> None:
    with pytest.raises(InputError, match="wet on wet"):
        print_order([flashed] if flashed.discharges else [DISCHARGE, flashed])


def test_a_base_that_is_not_there_is_told() -> None:
    with pytest.raises(InputError, match="'white', which is no screen"):
        print_order([YELLOW])

"""Heavy work of many visitors: in turn, one each, and who has left is not waited for."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from inksim.ui.turns import Turns

LIMIT_S = 10.0


class Left(Exception):
    """What Streamlit raises in the script of a visitor who has closed the page, for the tests."""


def until(true: Callable[[], bool]) -> None:
    deadline = time.monotonic() + LIMIT_S
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.005)


class Visitors:
    """Visitors with work, each in a thread; what began, in order, and what each was told."""

    def __init__(self, turns: Turns) -> None:
        self.turns, self.began = turns, list[str]()
        self.told: dict[str, list[int]] = {}
        self.gone: set[str] = set()
        self.goes_on = {name: threading.Event() for name in "abcd"}
        self.most = self.now = 0
        self.threads = list[threading.Thread]()

    def come(self, name: str, who: str) -> None:
        """Come with work that goes on until it may end."""
        self.told[name] = []
        self.threads.append(threading.Thread(target=self._work, args=(name, who), daemon=True))
        self.threads[-1].start()
        until(lambda: name in self.began or bool(self.told[name]))

    def _work(self, name: str, who: str) -> None:
        def waits(ahead: int) -> None:
            self.told[name].append(ahead)
            if name in self.gone:
                raise Left

        try:
            with self.turns.taken(who, waits=waits):
                self.began.append(name)
                self.now += 1
                self.most = max(self.most, self.now)
                assert self.goes_on[name].wait(LIMIT_S)
                self.now -= 1
        except Left:
            return

    def end(self, *names: str) -> None:
        for name in names:
            self.goes_on[name].set()


def test_who_came_first_is_served_first_and_is_told_how_many_are_before() -> None:
    here = Visitors(Turns(1))
    for name in "abc":
        here.come(name, f"session {name}")
    assert here.told["b"][0] == 1
    assert here.told["c"][0] == 2
    here.end("a")
    until(lambda: here.began == ["a", "b"])
    here.end("b", "c")
    until(lambda: here.began == ["a", "b", "c"])
    assert here.most == 1


def test_a_visitor_with_two_works_lets_another_s_go_before_his_second() -> None:
    here = Visitors(Turns(2))
    here.come("a", "one")
    here.come("b", "one")
    here.come("c", "two")  # came last, and does not wait behind the one that has his turn
    assert here.began == ["a", "c"]
    here.end("a")
    until(lambda: here.began == ["a", "c", "b"])
    here.end("b", "c")


def test_who_leaves_while_he_waits_is_not_waited_for() -> None:
    here = Visitors(Turns(1))
    for name in "abc":
        here.come(name, f"session {name}")
    here.gone.add("b")
    here.threads[1].join(LIMIT_S)
    until(lambda: here.told["c"][-1] == 1)
    here.end("a", "c")
    until(lambda: here.began == ["a", "c"])


def test_work_that_is_broken_off_gives_its_turn_to_the_next() -> None:
    turns = Turns(1)
    with pytest.raises(Left), turns.taken("one", waits=lambda ahead: None):
        raise Left
    with turns.taken("two", waits=lambda ahead: pytest.fail("nobody is there")):
        pass


def _interrupted_page() -> None:
    import streamlit as st
    from streamlit.runtime.scriptrunner import RerunData, get_script_run_ctx

    from inksim.ui.changes import do
    from inksim.ui.progress import in_turn, set_place

    def work() -> str:
        with in_turn("Reading …"):
            context = get_script_run_ctx()
            assert context is not None
            assert context.script_requests is not None
            context.script_requests.request_rerun(RerunData())  # as another click meanwhile
        st.session_state["done"] = True
        return "Done."

    set_place()
    st.button("Do", on_click=do, args=(work,))
    st.text(f"done: {st.session_state.get('done', False)}")


def test_a_change_is_made_though_something_else_is_asked_for_meanwhile() -> None:
    app = AppTest.from_function(_interrupted_page).run()
    app.button[0].click().run()
    assert app.text[0].value == "done: True"


def _callback_page() -> None:
    import streamlit as st

    from inksim.ui.progress import in_turn, set_place

    def work() -> None:
        with in_turn("Reading …"):
            pass

    set_place()
    st.button("Do", on_click=work)
    st.expander("A box that somebody opened").text("stays")


def test_work_of_a_callback_does_not_move_what_follows() -> None:
    """Streamlit knows a part of a page by its place: moved, it is built anew, and boxes close."""
    app = AppTest.from_function(_callback_page).run()
    before = {place: part.type for place, part in app.main.children.items()}
    app.button[0].click().run()
    assert {place: part.type for place, part in app.main.children.items()} == before

"""Whatever is given to a public function, it does its work or raises one of the toolkit's own errors, and soon."""

from __future__ import annotations

import contextlib
import inspect
import signal
from collections.abc import Iterator

import pytest
from panelwright.plates import PanelwrightError
from public_names import CASES, EXCUSED, Scene, bad_values, bound, public_callables, use

CALLABLES = dict(public_callables())

PATIENCE_S = 3.0
"""How long one call may take: the slowest good one takes a tenth of that, so what takes longer runs on and on."""


class _Endless(BaseException):
    """A call that does not end; no error of the toolkit's, so that nothing takes it for one."""


@contextlib.contextmanager
def _patience() -> Iterator[None]:
    def stop(number: int, frame: object) -> None:
        raise _Endless(f"still running after {PATIENCE_S:g} s")

    if not hasattr(signal, "setitimer"):
        yield
        return
    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, PATIENCE_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def test_every_public_name_is_in_the_table() -> None:
    """A new public function, class or method needs good arguments in the table; what is gone must leave it."""
    assert set(CASES) == set(CALLABLES)
    assert len(CASES) > 100


@pytest.mark.parametrize("name", CASES)
def test_good_arguments_are_taken(name: str) -> None:
    """Every call of the table works, and so does what is made by it: the table tries what it says it tries."""
    scene = Scene()
    arguments = CASES[name](scene)
    assert set(arguments) == {key for key in inspect.signature(CALLABLES[name]).parameters if key != "cls"}
    use(name, bound(CALLABLES[name], arguments), scene)


@pytest.mark.parametrize("name", [name for name in CASES if set(CASES[name](Scene())) - {"self"}])
def test_bad_values_raise_the_toolkits_errors_only(name: str) -> None:
    """Each bad value for each parameter, one at a time: fine, or an error of the toolkit's that says something."""
    callee = CALLABLES[name]
    faults: list[str] = []
    refused = 0
    for parameter in CASES[name](Scene()):
        if parameter == "self":
            continue
        for number, (said, _) in enumerate(bad_values(Scene())):
            scene = Scene()
            arguments = {**CASES[name](scene), parameter: bad_values(scene)[number][1]}
            try:
                with _patience():
                    use(name, bound(callee, arguments), scene)
            except PanelwrightError as error:
                refused += 1
                if not 10 < len(str(error)) < 2000:
                    faults.append(f"{parameter}={said}: says {str(error)[:60]!r}")
            except (Exception, _Endless) as error:
                if (name, parameter, said) in EXCUSED:
                    continue
                faults.append(f"{parameter}={said}: {type(error).__name__}: {str(error)[:120]}")
    assert not faults, f"{len(faults)} of {name}:\n" + "\n".join(faults)
    assert refused > 0 or name.endswith("__contains__"), "a question is answered, all else refuses something"

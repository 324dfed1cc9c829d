"""Two builds of one design held against each other: which files differ, and which inputs could be why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["RebuildCheck", "rebuild_check", "settings_of"]

ABSENT = "absent"


@dataclass(frozen=True, slots=True)
class RebuildCheck:
    """The files that differ between a folder and what is built now, by paths, and in words the inputs that do."""

    differ: tuple[str, ...]
    only_then: tuple[str, ...]
    only_now: tuple[str, ...]
    inputs: tuple[str, ...]

    @property
    def is_identical(self) -> bool:
        """Whether the same files came out, to the byte."""
        return not (self.differ or self.only_then or self.only_now)


def settings_of(manifest: Mapping[str, Any]) -> tuple[str, ...]:
    """The parameters that a build ran with, as `--set` takes them.

    >>> settings_of({"parameters": {"lid": True, "note": "as is", "width": 300.0, "shelf": None}})
    ('lid=true', 'note=as is', 'shelf=none', 'width=300.0')
    """
    words = {True: "true", False: "false", None: "none"}
    given = manifest.get("parameters") or {}
    return tuple(
        f"{name}={words[value] if value is None or isinstance(value, bool) else value}" for name, value in sorted(given.items())
    )


def rebuild_check(then: Mapping[str, Any], now: Mapping[str, Any]) -> RebuildCheck:
    """Two manifests, of what was built and of what is built now of the same design and parameters.

    >>> then = {"files": {"a.dxf": "1"}, "versions": {"ezdxf": "1.4.1"}, "sources": {"tray.py": "7"}}
    >>> found = rebuild_check(then, {"files": {"a.dxf": "2"}, "versions": {"ezdxf": "1.4.2"}, "sources": {"tray.py": "7"}})
    >>> found.differ, found.inputs
    (('a.dxf',), ('ezdxf was 1.4.1 and is 1.4.2',))
    """
    old, new = then["files"], now["files"]
    return RebuildCheck(
        tuple(sorted(name for name in old.keys() & new.keys() if old[name] != new[name])),
        tuple(sorted(old.keys() - new.keys())),
        tuple(sorted(new.keys() - old.keys())),
        (*_sources(then, now), *_parameters(then, now), *_stocks(then, now), *_versions(then, now)),
    )


def _sources(then: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    if "sources" not in then:
        return ["the folder does not tell of which design file it was built: an older toolkit wrote it, or other code"]
    old, new = then["sources"], now.get("sources", {})
    told = {True: "is not as it was", False: "was not there"}
    found = [f"{name} {told[name in old]}" for name in sorted(new) if old.get(name) != new[name]]
    return [*found, *(f"{name} is not imported any more" for name in sorted(old.keys() - new.keys()))]


def _parameters(then: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    return _differences(then.get("parameters") or {}, now.get("parameters") or {}, "parameter ")


def _versions(then: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    return _differences(then.get("versions") or {}, now.get("versions") or {}, "")


def _stocks(then: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """Numbers of stocks, paired by their names and what they are sold as, in the order of the older build."""
    found: list[str] = []
    old, new = ({_called(one): one for one in side.get("stocks") or ()} for side in (then, now))
    for name, stock in old.items():
        if name in new:
            found += _differences(stock, new[name], f"stock {name}: ")
    found += [f"stock {name} is not used any more" for name in old if name not in new]
    return [*found, *(f"stock {name} was not used" for name in new if name not in old)]


def _called(stock: Mapping[str, Any]) -> str:
    sold = stock.get("nominal_thickness_mm")
    return repr(stock.get("stock")) + (f" sold as {sold:g} mm" if isinstance(sold, int | float) else "")


def _differences(old: Mapping[str, Any], new: Mapping[str, Any], of: str) -> list[str]:
    pairs = [(key, old.get(key, ABSENT), new.get(key, ABSENT)) for key in sorted(old.keys() | new.keys())]
    return [f"{of}{key} was {was} and is {value}" for key, was, value in pairs if was != value]

"""A plan as JSON, and back, checked."""

from __future__ import annotations

import dataclasses
import json
import types
import typing
from typing import Any, get_type_hints

from layout.faults import BadInput, Fault
from layout.plan.value import PLAN_VERSION, Plan
from layout.plan.whole import check_plan


def to_json(plan: Plan) -> str:
    """A plan as JSON text, every float whole."""
    return json.dumps(dataclasses.asdict(plan), ensure_ascii=False, indent=1) + "\n"


def _build(kind: Any, value: Any, where: str) -> Any:
    origin, args = typing.get_origin(kind), typing.get_args(kind)
    if dataclasses.is_dataclass(kind):
        if not isinstance(value, dict):
            raise BadInput([Fault(where, "a table wanted", value)])
        hints = get_type_hints(kind)
        missing, more = set(hints) - set(value), set(value) - set(hints)
        if missing or more:
            which = ", ".join(sorted(missing or more))
            raise BadInput([Fault(where, "is missing" if missing else "is not known", which)])
        return kind(**{k: _build(h, value[k], f"{where}.{k}") for k, h in hints.items()})  # type: ignore[operator]
    if origin is types.UnionType:
        inner = next(a for a in args if a is not type(None))
        return None if value is None else _build(inner, value, where)
    if origin is tuple:
        if not isinstance(value, list):
            raise BadInput([Fault(where, "a list wanted", value)])
        kinds = [args[0]] * len(value) if len(args) == 2 and args[1] is Ellipsis else list(args)
        if len(kinds) != len(value):
            raise BadInput([Fault(where, f"{len(kinds)} values wanted", value)])
        pairs = zip(kinds, value, strict=True)
        return tuple(_build(k, v, f"{where}[{i}]") for i, (k, v) in enumerate(pairs))
    if kind is float and type(value) in (int, float) and abs(value) < 1e9:
        return float(value)
    if kind in (str, int, bool) and type(value) is kind:
        return value
    raise BadInput([Fault(where, f"{kind.__name__} wanted", value)])


def from_json(text: str) -> Plan:
    """Read a plan back from JSON text.

    Raises
    ------
    BadInput
        Not a plan of this version.
    """
    try:
        table = json.loads(text)
    except (ValueError, RecursionError) as error:
        line = getattr(error, "lineno", 0)
        raise BadInput([Fault("plan", "not valid JSON", None, line=line)]) from None
    version = table.get("version") if isinstance(table, dict) else None
    if version != PLAN_VERSION:
        raise BadInput([Fault("version", f"a plan of version {PLAN_VERSION} wanted", version)])
    plan: Plan = _build(Plan, table, "plan")
    check_plan(plan)
    return plan

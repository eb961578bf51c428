"""f-strings as templates with named places."""

from __future__ import annotations

import ast
from itertools import product

_MOST_VARIANTS = 16


def templates(node: ast.JoinedStr) -> list[str]:
    """An f-string as templates with named places; a place that chooses between texts gives one template for each."""
    taken: dict[str, str] = {}
    choices = [_choices(part, taken) for part in node.values]
    many = 1
    for choice in choices:
        many *= len(choice)
    if many > _MOST_VARIANTS:
        choices = [choice if len(choice) == 1 else choice[:1] for choice in choices]
    return list(dict.fromkeys("".join(variant) for variant in product(*choices)))


def _choices(part: ast.expr, taken: dict[str, str]) -> list[str]:
    if isinstance(part, ast.Constant):
        return [str(part.value).replace("{", "{{").replace("}", "}}")]
    if isinstance(part, ast.JoinedStr):
        inner = [_choices(one, taken) for one in part.values]
        return ["".join(variant) for variant in product(*inner)]
    if isinstance(part, ast.FormattedValue):
        value = part.value
        if isinstance(value, ast.IfExp) and part.format_spec is None:
            return [text for side in (value.body, value.orelse) for text in _side(side, taken)]
        if isinstance(value, ast.BoolOp) and isinstance(value.op, ast.Or) and part.format_spec is None:
            return [text for side in value.values for text in _side(side, taken)]
        if isinstance(value, ast.JoinedStr | ast.Constant):
            return _choices(value, taken)
        return [_place(value, taken)]
    return [_place(part, taken)]


def _side(side: ast.expr, taken: dict[str, str]) -> list[str]:
    if isinstance(side, ast.IfExp):
        return [text for one in (side.body, side.orelse) for text in _side(one, taken)]
    if (isinstance(side, ast.Constant) and isinstance(side.value, str)) or isinstance(side, ast.JoinedStr):
        return _choices(side, taken)
    return [_place(side, taken)]


def _place(value: ast.expr, taken: dict[str, str]) -> str:
    source = ast.unparse(value)
    if source not in taken:
        name = _named(value).strip("_").lower() or "value"
        number = 2
        wanted = name
        while wanted in taken.values():
            wanted = f"{name}{number}"
            number += 1
        taken[source] = wanted
    return f"{{{taken[source]}}}"


_THROUGH = {
    "len",
    "plain",
    "str",
    "isoformat",
    "lower",
    "upper",
    "strip",
    "value",
    "number",
    "day",
    "moment",
    "quantity",
}
_THROUGH |= {
    "split",
    "measured",
    "shown",
    "quoted",
    "escape",
    "float",
    "int",
    "abs",
    "round",
    "sorted",
    "list",
    "join",
    "values",
}
_THROUGH |= {
    "split",
    "written",
    "own",
    "mixed",
    "tell",
    "told",
    "name",
    "word",
    "words",
    "tuple",
    "get",
    "capitalize",
    "astimezone",
    "rstrip",
    "max",
    "min",
    "sum",
}


def _named(value: ast.expr) -> str:
    """A name for a place, out of what is put there."""
    if isinstance(value, ast.Name):
        return value.id
    if isinstance(value, ast.Attribute):
        return _named(value.value) if value.attr in ("value", "word", "words") else value.attr
    if isinstance(value, ast.Call):
        name = last_name(value.func)
        if name in _THROUGH:
            if value.args and not isinstance(value.args[0], ast.Constant):
                return _named(value.args[0])
            if isinstance(value.func, ast.Attribute) and not isinstance(value.func.value, ast.Constant):
                return _named(value.func.value)
        return name
    if isinstance(value, ast.Subscript):
        return _named(value.value)
    if isinstance(value, ast.UnaryOp):
        return _named(value.operand)
    if isinstance(value, ast.BinOp | ast.BoolOp):
        return _named(value.left if isinstance(value, ast.BinOp) else value.values[0])
    if isinstance(value, ast.GeneratorExp | ast.ListComp):
        return _named(value.elt)
    return "value"


def last_name(node: ast.expr) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""

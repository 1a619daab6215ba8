"""Reads a compiled condition back as a small tree of our own.

The CEL library hands out its checked expression as protobuf bytes but ships no
message classes for it, so the few messages needed are described here by hand
(field numbers from the open cel-spec, `proto/cel/expr/checked.proto`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from google.protobuf import any_pb2, descriptor_pb2, descriptor_pool, message_factory

_PACKAGE = "benchtag.cel"
_MESSAGES: dict[str, list[tuple[str, int, str, bool]]] = {
    # name: [(field, number, type, repeated)]
    "Constant": [
        ("null_value", 1, "int32", False),
        ("bool_value", 2, "bool", False),
        ("int64_value", 3, "int64", False),
        ("uint64_value", 4, "uint64", False),
        ("double_value", 5, "double", False),
        ("string_value", 6, "string", False),
        ("bytes_value", 7, "bytes", False),
    ],
    "Ident": [("name", 1, "string", False)],
    "Select": [("operand", 1, "Expr", False), ("field", 2, "string", False)],
    "Call": [
        ("target", 1, "Expr", False),
        ("function", 2, "string", False),
        ("args", 3, "Expr", True),
    ],
    "List": [("elements", 1, "Expr", True)],
    "Expr": [
        ("id", 2, "int64", False),
        ("const_expr", 3, "Constant", False),
        ("ident_expr", 4, "Ident", False),
        ("select_expr", 5, "Select", False),
        ("call_expr", 6, "Call", False),
        ("list_expr", 7, "List", False),
    ],
    "ReferenceEntry": [("key", 1, "int64", False), ("value", 2, "Reference", False)],
    "Reference": [("name", 1, "string", False)],
    "CheckedExpr": [("reference_map", 2, "ReferenceEntry", True), ("expr", 4, "Expr", False)],
}
_ONE_OF = {"Constant": 0, "Expr": 1}  # message: index of the first field of its `kind` oneof


def _checked_expression_class() -> Any:
    file = descriptor_pb2.FileDescriptorProto(
        name="benchtag/cel.proto", package=_PACKAGE, syntax="proto3"
    )
    for name, fields in _MESSAGES.items():
        message = file.message_type.add(name=name)
        if name in _ONE_OF:
            message.oneof_decl.add(name="kind")
        for index, spec in enumerate(fields):
            _add_field(message, spec, in_one_of=name in _ONE_OF and index >= _ONE_OF[name])
    pool = descriptor_pool.DescriptorPool()
    pool.AddSerializedFile(file.SerializeToString())  # type: ignore[no-untyped-call]
    descriptor = pool.FindMessageTypeByName(f"{_PACKAGE}.CheckedExpr")  # type: ignore[no-untyped-call]
    return message_factory.GetMessageClass(descriptor)


def _add_field(message: Any, spec: tuple[str, int, str, bool], *, in_one_of: bool) -> None:
    proto = descriptor_pb2.FieldDescriptorProto
    name, number, kind, repeated = spec
    label = proto.LABEL_REPEATED if repeated else proto.LABEL_OPTIONAL
    field = message.field.add(name=name, number=number, label=label)
    if kind in _MESSAGES:
        field.type, field.type_name = proto.TYPE_MESSAGE, f".{_PACKAGE}.{kind}"
    else:
        field.type = getattr(proto, f"TYPE_{kind.upper()}")
    if in_one_of:
        field.oneof_index = 0


_CheckedExpr = _checked_expression_class()


@dataclass(frozen=True, slots=True)
class Node:
    """A condition as a tree.

    `op` is "name", "value", "list" or the CEL function ("_&&_", "_==_", "size" ...);
    `value` holds the name of a fact or the constant; `parts` the operands.
    """

    op: str
    value: str | bool | int | float | None = None
    parts: tuple[Node, ...] = ()

    def names(self) -> frozenset[str]:
        """Return the facts that this tree reads."""
        if self.op == "name":
            return frozenset({str(self.value)})
        return frozenset(name for part in self.parts for name in part.names())

    def walk(self) -> Iterator[Node]:
        """Yield this node and all below it."""
        yield self
        for part in self.parts:
            yield from part.walk()

    def all_of(self) -> list[Node]:
        """Return the operands of a chain of `&&`, or the node itself."""
        return self._chain("_&&_")

    def any_of(self) -> list[Node]:
        """Return the operands of a chain of `||`, or the node itself."""
        return self._chain("_||_")

    def _chain(self, op: str) -> list[Node]:
        if self.op != op:
            return [self]
        return [leaf for part in self.parts for leaf in part._chain(op)]


class Unreadable(ValueError):
    """The expression uses a construction that rules do not have (a comprehension, a map)."""


def read(serialized: bytes) -> Node:
    """Return the tree of a compiled expression; Unreadable when it uses more than rules may."""
    envelope = any_pb2.Any()
    envelope.ParseFromString(serialized)
    checked = _CheckedExpr()
    checked.ParseFromString(envelope.value)
    names = {entry.key: entry.value.name for entry in checked.reference_map if entry.value.name}
    return _node(checked.expr, names)


def _node(expr: Any, names: dict[int, str]) -> Node:
    kind = expr.WhichOneof("kind")
    # A dotted fact name arrives as a select that refers to one variable.
    if kind in ("ident_expr", "select_expr") and expr.id in names:
        return Node("name", names[expr.id])
    if kind == "const_expr":
        return Node("value", _constant(expr.const_expr))
    if kind == "list_expr":
        return Node("list", parts=tuple(_node(e, names) for e in expr.list_expr.elements))
    if kind == "call_expr":
        call = expr.call_expr
        operands = [call.target] if call.HasField("target") else []
        return Node(call.function, parts=tuple(_node(a, names) for a in [*operands, *call.args]))
    raise Unreadable("rules may not use macros over lists, maps or has(); test words with `in`")


def _constant(constant: Any) -> str | bool | int | float:
    value: str | bool | int | float = getattr(constant, constant.WhichOneof("kind"))
    return value


_INFIX = {
    "_&&_": "&&",
    "_||_": "||",
    "_==_": "==",
    "_!=_": "!=",
    "_<_": "<",
    "_<=_": "<=",
    "_>_": ">",
    "_>=_": ">=",
    "_+_": "+",
    "_-_": "-",
    "_*_": "*",
    "_/_": "/",
    "@in": "in",
}
_BINDS = {
    "_?_:_": 0,
    "_||_": 1,
    "_&&_": 2,
    "_+_": 4,
    "_-_": 4,
    "_*_": 5,
    "_/_": 5,
    "!_": 6,
    "-_": 6,
}
_COMPARISON, _TIGHTEST = 3, 7


def text(node: Node) -> str:
    """Write the tree back as CEL, with brackets only where the grammar needs them."""
    if node.op == "name":
        return str(node.value)
    if node.op == "value":
        return _literal(node.value)
    if node.op == "list":
        return "[" + ", ".join(text(part) for part in node.parts) + "]"
    if node.op in _INFIX:
        return f" {_INFIX[node.op]} ".join(_operand(part, node.op) for part in node.parts)
    if node.op in ("!_", "-_"):
        return node.op[0] + _operand(node.parts[0], node.op)
    if node.op == "_?_:_":
        test, yes, no = (_operand(part, node.op) for part in node.parts)
        return f"{test} ? {yes} : {no}"
    return f"{node.op}({', '.join(text(part) for part in node.parts)})"


def _operand(node: Node, outer: str) -> str:
    same_chain = node.op == outer and outer in ("_&&_", "_||_")
    return text(node) if same_chain or _binds(node.op) > _binds(outer) else f"({text(node)})"


def _binds(op: str) -> int:
    return _BINDS.get(op, _COMPARISON if op in _INFIX else _TIGHTEST)


def _literal(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return repr(value)

"""The small faults: which there are in a file, and the file's code with one of them in it."""

import ast
import copy
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

SWAPPED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult, ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr, ast.And: ast.Or,
    ast.Or: ast.And,
}  # fmt: skip  # a table: each with its opposite
RENAMED = {"any": "all", "all": "any", "min": "max", "max": "min", "filter": "exclude"}
RENAMED |= {"exclude": "filter", "first": "last", "last": "first"}


@dataclass(frozen=True)
class Mutant:
    """One fault: the file and outermost function it is in, its line, and what it changes."""

    path: str
    function: str
    line: int
    end_line: int
    before: str
    after: str
    number: int  # among the faults of the file, in the order of `ast.walk`
    variant: int
    occurrence: int  # the how-manieth of its name

    @property
    def name(self) -> str:
        """What it is known by, whatever moves around it."""
        again = f" ({self.occurrence})" if self.occurrence > 1 else ""
        return f"{self.path} {self.function}: {self.before} → {self.after}{again}"


def mutants(root: Path, path: str) -> Iterator[Mutant]:
    """Yield every fault that can be put into the functions of a file, in a fixed order."""
    tree = ast.parse((root / path).read_text(encoding="utf-8"))
    seen: Counter[tuple[str, ...]] = Counter()
    for function, node in _functions(tree):
        for number, inner in enumerate(_inside(node)):
            for variant, changed in enumerate(_changes(inner)):
                last = inner.test.end_lineno if isinstance(inner, ast.If) else inner.end_lineno
                texts = _text(inner), _text(changed)
                seen[function, *texts] += 1
                places = number, variant, seen[function, *texts]
                yield Mutant(path, function, inner.lineno, last, *texts, *places)


def mutated_code(root: Path, mutant: Mutant) -> CodeType:
    """Return the code of the mutant's outermost function with the fault in it."""
    file = root / mutant.path
    tree = ast.parse(file.read_text(encoding="utf-8"))
    node = next(node for name, node in _functions(tree) if name == mutant.function)
    target = list(_inside(node))[mutant.number]
    changed = list(_changes(target))[mutant.variant]
    ast.copy_location(changed, target)
    if any(isinstance(one, ast.Name) and one.id == "super" for one in ast.walk(node)):
        # Whether the call of `super` is gone or not, the class stays bound to the code.
        node.body.append(ast.If(ast.Constant(False), [ast.Expr(ast.Name("super", ast.Load()))], []))
    tree = ast.fix_missing_locations(_Replace(target, changed).visit(tree))
    return _find(compile(tree, str(file), "exec"), mutant.function)


def _text(node) -> str:
    return f"if {ast.unparse(node.test)}" if isinstance(node, ast.If) else ast.unparse(node)


def _functions(tree, prefix="") -> Iterator[tuple[str, ast.AST]]:
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            yield from _functions(node, f"{prefix}{node.name}.")
        elif isinstance(node, ast.FunctionDef):
            yield prefix + node.name, node


def _inside(function) -> Iterator[ast.AST]:
    """Yield the nodes of a function's body, without types, which are no behaviour."""
    waiting = list(reversed(function.body))
    while waiting:
        node = waiting.pop()
        yield node
        for field, value in ast.iter_fields(node):
            if field in ("annotation", "returns", "decorator_list", "format_spec"):
                continue
            children = value if isinstance(value, list) else [value]
            waiting += [child for child in reversed(children) if isinstance(child, ast.AST)]


def _changes(node) -> Iterator[ast.AST]:
    """Yield what one node may be wrongly written as."""
    new = copy.deepcopy(node)
    match node:
        case ast.Compare(ops=[op]) if type(op) in SWAPPED:
            new.ops = [SWAPPED[type(op)]()]
            yield new
        case ast.BinOp(op=op) | ast.BoolOp(op=op) | ast.AugAssign(op=op) if type(op) in SWAPPED:
            new.op = SWAPPED[type(op)]()
            yield new
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield new.operand
        case ast.Constant(value=bool(value)):
            yield ast.Constant(not value)
        case ast.Constant(value=int(value)):
            yield ast.Constant(value + 1)
        case ast.Name(id=name, ctx=ast.Load()) if name in ("any", "all", "min", "max"):
            yield ast.Name(RENAMED[name], ast.Load())
        case ast.Attribute(attr=name) if name in ("filter", "exclude", "first", "last"):
            new.attr = RENAMED[name]
            yield new
        case ast.If() | ast.IfExp():
            new.test = ast.UnaryOp(ast.Not(), new.test)
            yield new if isinstance(node, ast.IfExp) else ast.If(new.test, new.body, new.orelse)
        case ast.Expr(value=ast.Call()):
            yield ast.Pass()
        case ast.Return(value=value) if value is not None and not isinstance(value, ast.Constant):
            yield ast.Return(ast.Constant(None))
        case ast.Continue():
            yield ast.Break()


class _Replace(ast.NodeTransformer):
    def __init__(self, target, changed):
        self.target, self.changed = target, changed

    def visit(self, node):
        return self.changed if node is self.target else self.generic_visit(node)


def _find(code: CodeType, function: str) -> CodeType:
    for name in function.split("."):
        code = next(
            const
            for const in code.co_consts
            if isinstance(const, CodeType) and const.co_name == name
        )
    return code

"""Read the project's own source: what the tests of its architecture and of its budgets share."""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent
PACKAGES = ("cutsheets", "shop", "orders")
Function = ast.FunctionDef | ast.AsyncFunctionDef


def modules(root: Path, *parts: str) -> dict[str, Path]:
    """Return dotted names and files of all modules below these folders, migrations (which Django writes) left out."""
    files = (file for part in parts for file in sorted((root / part).rglob("*.py")) if "migrations" not in file.parts)
    return {dotted(file.relative_to(root)): file for file in files}


def dotted(file: Path) -> str:
    return ".".join(file.with_suffix("").parts).removesuffix(".__init__")


def parse(file: Path) -> ast.Module:
    return ast.parse(file.read_text(encoding="utf-8"), filename=str(file))


def imports(name: str, file: Path) -> Iterator[str]:
    """Give the full dotted name of each module or thing that a module imports, in functions too."""
    package = name.split(".") if file.name == "__init__.py" else name.split(".")[:-1]
    for node in ast.walk(parse(file)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from (f"{base}.{alias.name}" for alias in node.names)


def functions(file: Path) -> Iterator[Function]:
    return (node for node in ast.walk(parse(file)) if isinstance(node, Function))


def body_lines(function: Function) -> int:
    """Return the lines of a function's body; its docstring is a text, not a thing to shorten."""
    first, *others = function.body
    documented = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
    start = (others[0] if others else None) if documented else first
    return function.end_lineno - start.lineno + 1 if start else 0

"""The import ladder: cutsheets <- shop <- orders, never back, no two-way imports, and a core that knows no Django."""

import ast
import graphlib
import subprocess
import sys
import textwrap

import pytest
from source_tree import PACKAGES, ROOT, imports, modules, parse

# What the modules whose names begin so must not import.
BANNED = {
    "cutsheets": ("django", "shop", "orders"),
    "shop": ("orders",),
    "orders.workflow": ("django", "shop", "orders"),
    "orders.pricing": ("django", "shop", "orders"),
}
# In an app: pure rules <- models <- services <- forms <- views <- urls. What is not named here is a rule or a service.
STEPS = {"form_fields": 1, "forms": 1, "views": 2, "pages": 3, "urls": 3}
# Rows that say what happened are written in one place; everything else calls that place.
WRITERS = {"StockMove": "shop.account", "Move": "orders.moves", "Scan": "orders.scanning", "Naming": "shop.devices"}
WRITES = {"create", "bulk_create", "get_or_create", "update_or_create"}


def within(name, package):
    return f"{name}.".startswith(f"{package}.")


def wrong_imports(root):
    """Return “module imports name” for each import that goes up the ladder."""
    return [
        f"{name} imports {imported}"
        for name, file in modules(root, *PACKAGES).items()
        for package, banned in BANNED.items()
        if within(name, package)
        for imported in imports(name, file)
        if any(within(imported, ban) for ban in banned) and not within(imported, package)
    ]


def step(name):
    return STEPS.get([*name.split("."), ""][1], 0)


def graph(root):
    """Return for each module the modules of the project that it imports."""
    names = modules(root, *PACKAGES)

    def module_of(imported):
        return imported if imported in names else imported.rpartition(".")[0]

    return {
        name: {module_of(imported) for imported in imports(name, file)} & names.keys() - {name}
        for name, file in names.items()
    }


def strange_writers(root):
    """Return “module writes model” for each row written outside the one place for it."""
    found = []
    for name, file in modules(root, "shop", "orders").items():
        for node in ast.walk(parse(file)):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name | ast.Attribute)):
                continue
            model, _, method = ast.unparse(node.func).partition(".objects.")
            if model in WRITERS and (not method or method in WRITES) and not within(name, WRITERS[model]):
                found.append(f"{name} writes {model}")
    return found


def loaded_with(package, root):
    """Import every module of a package in a fresh Python; return which of django, shop and orders came along."""
    code = f"""
        import importlib, pkgutil, sys
        import {package} as package
        for module in pkgutil.walk_packages(package.__path__, "{package}."):
            if not module.name.endswith("__main__"):
                importlib.import_module(module.name)
        print(*sorted({{"django", "shop", "orders"}} & sys.modules.keys()))
    """
    command = [sys.executable, "-c", textwrap.dedent(code)]
    return subprocess.run(command, cwd=root, check=True, capture_output=True, text=True).stdout.split()


@pytest.fixture
def plant(tmp_path):
    """Return a function that writes a module into an otherwise empty project."""

    def write(path, text):
        file = tmp_path / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
        return tmp_path

    return write


def test_no_import_goes_up_the_ladder():
    assert wrong_imports(ROOT) == []


def test_the_core_loads_without_django_shop_and_orders():
    assert loaded_with("cutsheets", ROOT) == []


def test_no_two_modules_import_each_other():
    graphlib.TopologicalSorter(graph(ROOT)).prepare()


def test_rules_know_no_forms_and_forms_no_views():
    upward = [
        f"{name} imports {imported}"
        for name, imported_names in graph(ROOT).items()
        for imported in imported_names
        if not within(name, "cutsheets") and step(name) < step(imported)
    ]
    assert upward == []


def test_each_kind_of_event_has_one_writer():
    assert strange_writers(ROOT) == []


@pytest.mark.parametrize(
    ("path", "text", "found"),
    [
        ("cutsheets/units.py", "import django.db", "cutsheets.units imports django.db"),
        ("cutsheets/kinds/base.py", "def f():\n    from orders import x", "cutsheets.kinds.base imports orders.x"),
        ("shop/account.py", "from orders.models import Order", "shop.account imports orders.models.Order"),
        ("orders/workflow.py", "from .models import Order", "orders.workflow imports orders.models.Order"),
    ],
)
def test_a_planted_import_is_found(plant, path, text, found):
    assert wrong_imports(plant(path, text)) == [found]


def test_an_import_down_the_ladder_is_fine(plant):
    root = plant("orders/moves.py", "import django\nfrom shop.account import receive\nfrom cutsheets import units")
    assert wrong_imports(root) == []


def test_planted_two_way_imports_are_found(plant):
    plant("shop/account.py", "from shop import stock")
    root = plant("shop/stock.py", "from .account import receive")
    with pytest.raises(graphlib.CycleError):
        graphlib.TopologicalSorter(graph(root)).prepare()


def test_a_planted_hidden_import_of_django_is_noticed_when_the_package_loads(plant):
    plant("planted/__init__.py", "")
    root = plant("planted/units.py", "import importlib\nimportlib.import_module('django')")
    assert loaded_with("planted", root) == ["django"]


def test_a_planted_second_writer_is_found(plant):
    root = plant("orders/saw.py", "StockMove.objects.create(x=1)\nStockMove.objects.filter(x=1)\nMove(x=1)")
    assert strange_writers(root) == ["orders.saw writes StockMove", "orders.saw writes Move"]


def test_ruff_refuses_django_in_the_core_too():
    ruff = [sys.executable, "-m", "ruff", "check", "--stdin-filename", "cutsheets/planted.py", "-"]
    said = subprocess.run(ruff, cwd=ROOT, input="import django\n", capture_output=True, text=True, check=False)
    assert "TID251" in said.stdout

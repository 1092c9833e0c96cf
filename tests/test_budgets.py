"""What good code looks like here, in lines: modules, functions, templates and tests stay short enough to be read."""

import ast

from source_tree import PACKAGES, ROOT, body_lines, functions, modules

MODULE, FUNCTION, TEST, TEMPLATE = 400, 50, 25, 200


def lines(file):
    return len(file.read_text(encoding="utf-8").splitlines())


def long_modules(root):
    return [name for name, file in modules(root, *PACKAGES, "tests").items() if lines(file) > MODULE]


def long_functions(root):
    """Return “module.function: lines” for each function over its budget; a test has a smaller one."""
    return [
        f"{name}.{function.name}: {body_lines(function)}"
        for name, file in modules(root, *PACKAGES, "tests").items()
        for function in functions(file)
        if body_lines(function) > (TEST if function.name.startswith("test_") else FUNCTION)
    ]


def long_templates(root):
    return [file.name for file in sorted((root / "templates").rglob("*.*")) if lines(file) > TEMPLATE]


def test_no_module_is_longer_than_its_budget():
    assert long_modules(ROOT) == []


def test_no_function_and_no_test_is_longer_than_its_budget():
    assert long_functions(ROOT) == []


def test_no_template_is_longer_than_its_budget():
    assert long_templates(ROOT) == []


def test_planted_lengths_are_found(tmp_path):
    for folder in ("cutsheets", "tests", "templates"):
        (tmp_path / folder).mkdir()
    (tmp_path / "cutsheets" / "long.py").write_text("x = 1\n" * 401)
    (tmp_path / "tests" / "test_long.py").write_text("def test_x():\n" + "    x = 1\n" * 26)
    (tmp_path / "cutsheets" / "grown.py").write_text("def grown():\n" + "    x = 1\n" * 51)
    (tmp_path / "templates" / "long.html").write_text("<p>\n" * 201)
    assert long_modules(tmp_path) == ["cutsheets.long"]
    assert long_functions(tmp_path) == ["cutsheets.grown.grown: 51", "tests.test_long.test_x: 26"]
    assert long_templates(tmp_path) == ["long.html"]


def test_lengths_at_the_budget_pass_and_a_docstring_does_not_count(tmp_path):
    (tmp_path / "shop").mkdir()
    text = '    """Say\n    much.\n    """\n'
    (tmp_path / "shop" / "fits.py").write_text("def fits():\n" + text + "    x = 1\n" * 50 + "\n" * 346)
    assert long_modules(tmp_path) == long_functions(tmp_path) == []


def test_a_function_that_is_only_a_docstring_has_no_body():
    only_words = ast.parse('def f():\n    """Say."""\n').body[0]
    assert body_lines(only_words) == 0

"""The house rules, held by the tools themselves: lint, types, layers, and what the docs promise."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def _clean(*command: str) -> None:
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, (done.stdout + done.stderr)[-4000:]


def test_ruff_has_nothing_to_say() -> None:
    _clean(sys.executable, "-m", "ruff", "check", ".")


@pytest.mark.slow
def test_types_hold() -> None:
    _clean(sys.executable, "-m", "mypy")


def test_no_room_reaches_where_it_must_not() -> None:
    start = "from importlinter.cli import lint_imports_command as lint; lint()"
    _clean(sys.executable, "-c", start)


def test_the_top_level_keeps_to_the_card() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in listed.stdout.split()}
    held = {name for name in top if not name.startswith(".")}
    card = {"README.md", "DEVELOPERS.md", "pyproject.toml", "proofcheck", "tests", "samples"}
    assert held == card


def test_every_command_of_the_readme_exists() -> None:
    """Each `proofcheck COMMAND --option` in the README is one the command line knows."""
    from typer.main import get_command

    from proofcheck.cli.program import app

    commands = get_command(app).commands  # type: ignore[attr-defined]
    text = (ROOT / "README.md").read_text() + (ROOT / "DEVELOPERS.md").read_text()
    used = re.findall(r"^(?:    |.*&& )proofcheck ([a-z]+)(.*)$", text, re.MULTILINE)
    assert used
    for command, rest in used:
        assert command in commands, command
        options = {name for parameter in commands[command].params for name in parameter.opts}
        if hasattr(commands[command], "commands"):
            continue
        for option in re.findall(r"(?<!\S)--[a-z-]+", rest.split("#")[0]):
            assert option in options | {"--help"}, f"{command} {option}"


def test_every_setting_is_in_the_readme() -> None:
    from dataclasses import fields

    from proofcheck.base.options import Options

    text = (ROOT / "README.md").read_text()
    missing = [field.name for field in fields(Options) if f"`{field.name}`" not in text]
    assert not missing


def test_every_allowance_is_in_the_readme() -> None:
    from dataclasses import fields

    from proofcheck.collate.same import Rules

    text = (ROOT / "README.md").read_text()
    names = [field.name.replace("_", "-") for field in fields(Rules)]
    assert not [name for name in names if f"| `{name}` |" not in text]


def test_ci_runs_the_readmes_test_command() -> None:
    """The second command block of the README is what CI calls."""
    blocks = re.findall(r"```(?:sh)?\n(.*?)```", (ROOT / "README.md").read_text(), re.DOTALL)
    assert blocks[1].strip() in (ROOT / ".ci" / "run").read_text()


def test_the_package_needs_no_tight_upper_pins() -> None:
    held = tomllib.loads((ROOT / "pyproject.toml").read_text())
    assert not [need for need in held["project"]["dependencies"] if "<" in need]


def test_a_file_name_means_one_thing_in_the_house() -> None:
    names = [path.name for path in (ROOT / "proofcheck").rglob("*.py")]
    twice = {name for name in names if names.count(name) > 1}
    assert twice == {"__init__.py"}


def test_units_alone_know_the_point_and_the_inch() -> None:
    spelled = re.compile(r"(?<![\d.])(72\.27|0?\.013837?|25\.4)(?!\d)")
    strokes = ROOT / "proofcheck" / "marks"
    found = [
        path.name
        for path in (ROOT / "proofcheck").rglob("*.py")
        if path.name != "units.py" and strokes not in path.parents
        if spelled.search(path.read_text(encoding="utf-8"))
    ]
    assert not found


def test_the_wheel_takes_nothing_from_the_lab_or_the_tests() -> None:
    reaching = re.compile(r"^\s*(from|import) tests\b", re.MULTILINE)
    found = [
        path.name
        for path in (ROOT / "proofcheck").rglob("*.py")
        if reaching.search(path.read_text(encoding="utf-8"))
    ]
    assert not found


def _imports() -> dict[str, set[str]]:
    """For each module of the house those of it that it imports, for types alone too."""
    modules = {}
    for path in (ROOT / "proofcheck").rglob("*.py"):
        parts = path.relative_to(ROOT).with_suffix("").parts
        modules[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    found = {}
    for module, path in modules.items():
        named: set[str] = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                named |= {each.name for each in node.names}
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{module} imports by dots; name the module whole"
                whole = {f"{node.module}.{each.name}" for each in node.names}
                named |= {name if name in modules else str(node.module) for name in whole}
        found[module] = (named & modules.keys()) - {module}
    return found


def test_no_modules_import_each_other_in_a_circle() -> None:
    from graphlib import TopologicalSorter

    imports = _imports()
    assert len(imports) > 100
    TopologicalSorter(imports).prepare()  # CycleError names the circle.


MOST_LINES, MOST_OF_A_FUNCTION = 300, 45
"""Of a module and of a function, with signature and docstring."""


def test_no_module_and_no_function_is_too_long() -> None:
    long = []
    for path in (ROOT / "proofcheck").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        count = len(text.splitlines())
        if count > MOST_LINES:
            long.append(f"{path.relative_to(ROOT)}: {count} lines")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                lines = (node.end_lineno or node.lineno) - node.lineno + 1
                if lines > MOST_OF_A_FUNCTION:
                    long.append(f"{path.relative_to(ROOT)}: {node.name}, {lines} lines")
    assert not long

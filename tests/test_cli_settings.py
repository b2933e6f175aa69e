"""Settings on the command line and found by themselves, and what else a person expects there."""

from __future__ import annotations

import dataclasses
import itertools
import json
import re
from pathlib import Path
from string import ascii_lowercase

import pytest
from docket_cases import begun, quick_folder
from typer.testing import CliRunner

from proofcheck.base.errors import OutputError, SettingError
from proofcheck.base.found_settings import NAME, settings_file, settings_for
from proofcheck.base.languages import is_language
from proofcheck.base.options import Options
from proofcheck.base.writing import make_folder
from proofcheck.cli.program import app
from proofcheck.cli.read_arguments import ReadArguments
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.show import list_text
from proofcheck.sheet.scans import one_each

_OTHERWISE = {
    "measure_picas": "--measure", "enforced": "--enforce", "allowed": "--allow",
    "type_too": "--text-only", "own_lines": "--own-line",
}  # fmt: skip


def test_every_key_of_the_settings_is_an_option():
    shown = re.sub(r"\x1b\[[0-9;]*m", "", CliRunner(env={"COLUMNS": "200"}).invoke(
        app, ["read", "--help"]).output)  # fmt: skip
    for field in dataclasses.fields(Options):
        assert _OTHERWISE.get(field.name, "--" + field.name.replace("_", "-")) in shown


@pytest.mark.parametrize(
    ("field", "value"),
    [("hand_set", True), ("part", True), ("unfit", True), ("second_look", False),
     ("recast", False), ("type_too", False)],
)  # fmt: skip
def test_what_the_settings_have_on_can_be_switched_off_and_the_other_way(tmp_path, field, value):
    path = tmp_path / "shop.toml"
    path.write_text(f"{field} = {str(value).lower()}\n")
    given = {"scans": [tmp_path / "x.png"], "copy": "y", "settings": path}
    assert getattr(ReadArguments(**given).chosen(), field) is value
    other = {"text_only": value} if field == "type_too" else {field: not value}
    assert getattr(ReadArguments(**given, **other).chosen(), field) is not value


def test_settings_are_found_upward_from_the_folder_and_then_the_users(tmp_path):
    deep = tmp_path / "jobs" / "214"
    deep.mkdir(parents=True)
    home = tmp_path / "home"
    user = home / ".config" / "proofcheck" / "settings.toml"
    user.parent.mkdir(parents=True)
    user.write_text("measure_picas = 18\n")
    environment, told = {"HOME": str(home)}, []
    assert settings_for(None, folder=deep, environment=environment).measure_picas == 18
    (tmp_path / NAME).write_text("measure_picas = 20\n")
    assert settings_file(deep, environment) == (tmp_path / NAME).resolve()
    found = settings_for(None, folder=deep, environment=environment, tell=told.append)
    assert found.measure_picas == 20
    assert told == [f"settings: {(tmp_path / NAME).resolve()}"]
    (deep / NAME).write_text("measure_picas = 22\n")
    assert settings_for(None, folder=deep, environment=environment).measure_picas == 22
    assert settings_for(user, folder=deep, environment=environment).measure_picas == 18
    (deep / NAME).write_text("measure = 22\n")
    with pytest.raises(SettingError, match="no key 'measure'"):
        settings_for(None, folder=deep, environment=environment)
    (tmp_path / NAME).unlink()
    (deep / NAME).unlink()
    assert settings_for(None, folder=deep, environment={}) == Options()


@pytest.mark.parametrize(
    "name", ["klingon", "", "en", "eng+", "ENG", "eng deu", "../eng", "klx", "enk"]
)
def test_a_language_that_is_none_is_refused(name):
    with pytest.raises(SettingError, match="no language"):
        Options(language=name)


@pytest.mark.parametrize(
    "name", ["eng", "eng+deu", "chi_sim", "srp_latn", "deu_latf", "ger+frk", "qab"]
)
def test_languages_are_named_as_the_engine_has_them(name):
    assert Options(language=name).language == name


TABLE = Path("/usr/share/iso-codes/json/iso_639-2.json")
"""ISO 639-2 as Debian's package iso-codes has it."""


@pytest.mark.skipif(not TABLE.exists(), reason="the machine has no table of the standard")
def test_the_languages_are_those_of_the_standard():
    held = json.loads(TABLE.read_text("utf-8"))["639-2"]
    known = {row[key] for row in held for key in ("alpha_3", "bibliographic") if key in row}
    known -= {"qaa-qtz"}  # for local use: a range of the standard's, no code
    three = map("".join, itertools.product(ascii_lowercase, repeat=3))
    taken = {name for name in three if is_language(name) and not "qaa" <= name <= "qtz"}
    assert taken - known == {"frk", "kmr"}
    assert known <= taken


def test_whoever_is_not_waited_for_is_refused():
    with quick_folder() as folder:
        jobs = begun(folder).jobs()
    with pytest.raises(DocketError, match="nobody waits for 'foo'; name one of: reader"):
        list_text(jobs, waiting="foo")
    assert "1042" in list_text(jobs, waiting="operator")
    assert "1042" not in list_text(jobs, waiting="press")


def test_the_version_is_said_and_the_shell_can_complete():
    told = CliRunner().invoke(app, ["--version"])
    assert told.exit_code == 0
    assert re.fullmatch(r"proofcheck \S+ \([0-9a-f]{12}\)\n", told.output)
    assert "--install-completion" in CliRunner().invoke(app, ["--help"]).output


def test_a_folder_for_results_is_made_and_one_that_can_not_be_is_one_line(tmp_path):
    make_folder(None)
    make_folder(tmp_path / "new" / "deep")
    make_folder(tmp_path / "new" / "deep")
    assert (tmp_path / "new" / "deep").is_dir()
    (tmp_path / "file").write_text("")
    for wrong in (tmp_path / "file", tmp_path / "file" / "below", tmp_path / "a\0b"):
        with pytest.raises(OutputError, match="can't make the folder"):
            make_folder(wrong)


def test_of_how_many_sheets_is_said_only_where_it_is_known(tmp_path):
    assert one_each([tmp_path / "a.PNG", tmp_path / "b.jpeg"])
    assert not one_each([tmp_path / "a.png", tmp_path / "b.pdf"])
    assert not one_each([tmp_path / "a.tiff"])

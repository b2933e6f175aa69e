"""Shop settings: what is taken, and what is refused with a word on the remedy."""

import re
from pathlib import Path

import pytest

from proofcheck.base.errors import SettingError
from proofcheck.base.options import Options, load_settings


def test_settings_file_lies_over_the_base(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text('measure_picas = 20\nhand_set = true\nenforced = ["point-space"]\n')
    options = load_settings(file, Options(reader="tesseract"))
    assert options.measure_picas == 20.0
    assert options.hand_set
    assert options.enforced == ("point-space",)
    assert options.reader == "tesseract"


def test_weights_are_found_beside_the_settings(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text('weights = "our.onnx"\n')
    assert load_settings(file).weights == tmp_path / "our.onnx"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("masure = 20", "no key 'masure'"),
        ("hand_set = 3", "hand_set can't be 3"),
        ('dpi = "300"', "dpi can't be '300'"),
        ("dpi = -1", "dpi is -1"),
        ('reader = "guess"', "no reader 'guess'"),
        ("fault_certainty = 2.0", "must lie between 0 and 1"),
        ("dpi = ", "not TOML"),
    ],
)
def test_bad_settings_say_what_is_wrong(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "shop.toml"
    file.write_text(text)
    with pytest.raises(SettingError, match=re.escape(said)):
        load_settings(file)


def test_missing_settings_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(SettingError, match=r"none\.toml can't be read"):
        load_settings(tmp_path / "none.toml")

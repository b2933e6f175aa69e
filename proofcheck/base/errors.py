"""One family of errors: each says in one line what is wrong, where, and what to do.

Nothing in the library prints or exits; `proofcheck.cli.program` turns these into a message and a
status.
"""

__all__ = [
    "CopyError",
    "EngineError",
    "OutputError",
    "ProofcheckError",
    "RecordError",
    "ScanError",
    "SettingError",
    "SheetUnfitError",
    "WeightsError",
]


class ProofcheckError(Exception):
    """Base of all errors a person can cause or cure; exit status 2.

    The text is one line: what is wrong, where, and what to do about it.
    """

    exit_status = 2


class ScanError(ProofcheckError):
    """A scan can't be opened: missing, empty, damaged, too large, locked, not a picture."""


class SheetUnfitError(ScanError):
    """A picture opened, but no proof can be judged from it: blank, pale, smeared, too coarse.

    Attributes:
        measured: the figure found, with its unit ("x-height 7 px").
        needed: what would do ("at least 10 px: scan at 300 dpi").
    """

    def __init__(self, message: str, *, measured: str = "", needed: str = "") -> None:
        super().__init__(message)
        self.measured = measured
        self.needed = needed


class CopyError(ProofcheckError):
    """The copy can't be loaded: missing, empty, binary, wrongly encoded, changes not accepted."""


class EngineError(ProofcheckError):
    """The OCR engine is missing, lacks the language, or failed."""


class WeightsError(ProofcheckError):
    """The letter reader's weights are missing or damaged."""


class SettingError(ProofcheckError):
    """An option or shop setting has a value that can't be used."""


class OutputError(ProofcheckError):
    """A result can't be written: it exists already, or the folder can't be written to."""


class RecordError(ProofcheckError):
    """The record of a proof can't be used: missing, none at all, changed, or too old."""

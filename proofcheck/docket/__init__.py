"""The docket: one record a job, that can be trusted, with its decisions and its sign-off."""

from proofcheck.docket.archive import Imported, export_job, import_job, read_archive
from proofcheck.docket.book import Docket, open_docket
from proofcheck.docket.clear import Clearance, Reason, clear_for_press, override, vouch
from proofcheck.docket.decisions import answer_query, decide
from proofcheck.docket.recording import (
    People,
    ProofTaken,
    amend_job,
    open_job,
    pull_proof,
    take_copy,
)
from proofcheck.docket.signoff import Word, sign_off
from proofcheck.docket.verify import Checked, verify

__all__ = [
    "Checked",
    "Clearance",
    "Docket",
    "Imported",
    "People",
    "ProofTaken",
    "Reason",
    "Word",
    "amend_job",
    "answer_query",
    "clear_for_press",
    "decide",
    "export_job",
    "import_job",
    "open_docket",
    "open_job",
    "override",
    "pull_proof",
    "read_archive",
    "sign_off",
    "take_copy",
    "verify",
    "vouch",
]

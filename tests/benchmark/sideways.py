"""Tickets with type set sideways: faults planted in it and found, alleged of sound ones, not read.

    python -m tests.benchmark.sideways [--wear clean,good,worn] [--seed 0] [--shown]

Each ticket is set once as the copy has it and once with each of its faults in what stands sideways.
A fault is found where a fault or query meets its place in the copy and its box lies in the ink of
the block, on the scan. --shown names what went wrong.
"""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from proofcheck import Options, check_proof
from proofcheck.results.report import scan_box
from tests.typesetter import Head, Para, Style, block_of, compose, print_proof, pull
from tests.typesetter.ganged import ganged
from tests.typesetter.printing import Proof

if TYPE_CHECKING:
    from proofcheck.results.report import Report

GAP_PX = 45


@dataclass(frozen=True, slots=True)
class Block:
    """What stands sideways at one end of a ticket."""

    lines: tuple[str, ...]
    body_pt: float
    family: str
    turn: int
    """Quarters it is turned to the left: 1 reads upwards, 3 downwards."""
    end: str = "right"
    style: str = "roman"
    faults: tuple[tuple[str, str], ...] = ()
    """What is to stand in one of its lines, and what stands there instead."""


@dataclass(frozen=True, slots=True)
class Ticket:
    """A ticket: its upright matter and what stands sideways, which the copy has `first` or last."""

    name: str
    heads: tuple[tuple[str, float], ...]
    text: str
    family: str
    blocks: tuple[Block, ...]
    first: bool = False
    up: int = 1
    rule: bool = False


REGATTA = (("The Orrenmouth Regatta", 16.0), ("Upper Quay, at Noon", 11.0))
STAND = "The bearer may stand upon the quay until the last boat is home, and take a chair."
SHOW = (("MARLBRIDGE FLOWER SHOW", 14.0), ("Saturday, the 4th of July", 10.0))
TENT = "Tea in the long tent from three. Prizes are given by the vicar at five by the church clock."
COACH = (("Vale of Orren Coaches", 15.0), ("Cotley to Temple Orren and back", 10.0))
LEAVE = "Not to be given to another. Leaves the Green Dragon at half past eight in the morning."
FOIL = "Counterfoil"

TICKETS = (
    Ticket("admit", REGATTA, STAND, "schola", (
        Block(("ADMIT TWO",), 16, "schola", 1, faults=(("ADMIT", "ADMTI"), ("TWO", "TWQ"))),)),
    Ticket("admit-down", REGATTA, STAND, "goudy", (
        Block(("ADMIT ONE",), 14, "goudy", 3, faults=(("ONE", "OME"), ("ADMIT", "ADIT"))),)),
    Ticket("foil", SHOW, TENT, "old-standard", (
        Block((FOIL,), 14, "old-standard", 1, "left",
              faults=((FOIL, "Counterfoll"), (FOIL, "Conterfoil"))),), first=True),
    Ticket("foil-italic", SHOW, TENT, "schola", (
        Block(("Not transferable",), 11, "schola", 3, style="italic",
              faults=(("Not", "Mot"), ("able", "abel"))),)),
    Ticket("number", COACH, LEAVE, "schola", (
        Block(("No. 1234",), 14, "schola", 1, faults=(("1234", "1284"), ("No.", "Mo."))),)),
    Ticket("figures", COACH, LEAVE, "goudy", (
        Block(("47190",), 18, "goudy", 3, "left", faults=(("47190", "47180"),)),), first=True),
    Ticket("both", REGATTA, STAND, "old-standard", (
        Block(("ADMIT ONE",), 14, "old-standard", 1, "left", faults=(("ONE", "OEN"),)),
        Block(("Row F, Seat 27",), 12, "old-standard", 3, faults=(("27", "21"), ("Seat", "Saet"))),
    )),
    Ticket("two-lines", SHOW, TENT, "schola", (
        Block(("MEMBERS OF THE", "FLORAL SOCIETY"), 12, "schola", 1,
              faults=(("SOCIETY", "SOCEITY"), ("MEMBERS", "MEMBFRS"))),)),
    Ticket("two-small", COACH, LEAVE, "goudy", (
        Block(("This half is kept", "by the passenger"), 10, "goudy", 3, "left",
              faults=(("kept", "kqpt"), ("passenger", "pasenger"))),), first=True),
    Ticket("bold", SHOW, TENT, "schola", (
        Block(("CHILD HALF PRICE",), 13, "schola", 1, style="bold",
              faults=(("HALF", "HAIF"), ("PRICE", "PRCIE"))),), rule=True),
    Ticket("imprint", REGATTA, STAND, "goudy", (
        Block(("Printed at the Quay Works, Orrenmouth",), 8, "goudy", 1, "left",
              faults=(("Works", "Workes"), ("Quay", "Qnay"))),)),
    Ticket("price", COACH, LEAVE, "old-standard", (
        Block(("Price 2s. 6d.",), 12, "old-standard", 3,
              faults=(("2s. 6d.", "2s. 8d."), ("Price", "Prise"))),), rule=True),
    Ticket("numbered-both", SHOW, TENT, "goudy", (
        Block(("No. 0871",), 14, "goudy", 1, "left", faults=(("0871", "0817"),)),
        Block(("No. 0871",), 14, "goudy", 3, faults=(("0871", "0371"),)),
    )),
    Ticket("three-up", SHOW, "Tea in the long tent from three o'clock.", "schola", (
        Block(("ADMIT ONE",), 12, "schola", 1, faults=(("ADMIT", "ADMTI"), ("ONE", "ONF"))),),
        up=3),
    Ticket("four-up", COACH, "Leaves the Green Dragon at half past eight.", "goudy", (
        Block((FOIL,), 11, "goudy", 3, "left", faults=((FOIL, "Counterfiol"),)),), first=True,
        up=4, rule=True),
    Ticket("centre", REGATTA, STAND, "schola", (
        Block(("Gentlemen only",), 12, "goudy", 3, "left",
              faults=(("Gentlemen", "Gentelmen"), ("only", "onlv"))),), first=True, rule=True),
)  # fmt: skip


def copy_of(ticket: Ticket) -> str:
    """The approved copy: what stands sideways first or last."""
    upright = [*(text for text, _ in ticket.heads), ticket.text]
    sideways = [line for block in ticket.blocks for line in block.lines]
    return "\n".join([*sideways, *upright] if ticket.first else [*upright, *sideways]) + "\n"


def one_set(ticket: Ticket, fault: tuple[int, str, str] | None = None) -> tuple[np.ndarray, list]:
    """One ticket as a picture, and the box of each block in it."""
    style = Style(family=ticket.family, body_pt=10.5)
    matter = [*(Head(text, size, 4) for text, size in ticket.heads), Para(ticket.text)]
    image = print_proof(compose(matter, measure_picas=20, style=style), margin_picas=1).image
    blocks = [_block(b, fault if fault and fault[0] == n else None)
              for n, b in enumerate(ticket.blocks)]  # fmt: skip
    tall = max([len(image), *(len(block) + 20 for block in blocks)])
    places = []
    row = _filled(image, tall)
    for block, picture in zip(ticket.blocks, blocks, strict=True):
        held = _filled(picture, tall)
        white = np.full((tall, GAP_PX), 255, np.uint8)
        rule = np.full((tall, 4), 0 if ticket.rule else 255, np.uint8)
        parts = [held, white, rule, row] if block.end == "left" else [row, rule, white, held]
        shift = held.shape[1] + GAP_PX + 4 if block.end == "left" else 0
        places = [(x + shift, y, w, h) for x, y, w, h in places]
        x = 0 if block.end == "left" else row.shape[1] + GAP_PX + 4
        places.append((x, (tall - len(picture)) // 2, picture.shape[1], len(picture)))
        row = np.hstack(parts)
    return row, places


def _block(block: Block, fault: tuple[int, str, str] | None) -> np.ndarray:
    lines = [line.replace(*fault[1:], 1) for line in block.lines] if fault else block.lines
    picture = block_of(*lines, body_pt=block.body_pt, family=block.family, style=block.style)
    return np.ascontiguousarray(np.rot90(picture, block.turn))


def _filled(image: np.ndarray, tall: int) -> np.ndarray:
    above = (tall - len(image)) // 2
    return np.pad(image, ((above, tall - len(image) - above), (0, 0)), constant_values=255)


def sheet_of(ticket: Ticket, at: int, fault: tuple[int, str, str] | None):
    """The sheet with the fault on its ticket `at`, and the place of the fault's block."""
    sound, places = one_set(ticket)
    spoilt, faulty = one_set(ticket, fault)
    tickets = [spoilt if n == at else sound for n in range(ticket.up)]
    tall, wide = (max(t.shape[k] for t in tickets) for k in (0, 1))
    tickets = [np.pad(t, ((0, tall - len(t)), (0, wide - t.shape[1])), constant_values=255)
               for t in tickets]  # fmt: skip
    proof: Proof = ganged(tickets, 1 if ticket.up < 4 else 2, gap_px=120)
    across = 1 if ticket.up < 4 else 2
    x, y, w, h = (faulty if fault else places)[fault[0] if fault else 0]
    return proof, (
        150 + at % across * (wide + 120) + x,
        150 + at // across * (tall + 120) + y,
        w,
        h,
    )


def read(proof: Proof, copy: str, wear: str, seed: int) -> Report:
    """One pull read against the copy."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "proof.png"
        Image.fromarray(pull(proof, wear, seed)).save(path, dpi=(300, 300))
        (Path(folder) / "copy.txt").write_text(copy, encoding="utf-8")
        return check_proof(path, Path(folder) / "copy.txt", options=Options(recast=False))


def is_found(report: Report, copy: str, wanted: str, place) -> bool:
    """Whether something is told of these words, within the ink of the block (pulls lie askew)."""
    x, y, w, h = place
    starts = [k for k in range(len(copy)) if copy.startswith(wanted, k)]
    for fault in report.faults:
        box = scan_box(report.sheets[fault.sheet], fault.box)
        cx, cy = box.x + box.width / 2, box.y + box.height / 2
        near = x - 25 < cx < x + w + 25 and y - 25 < cy < y + h + 25
        meets = any(fault.copy.start <= k + len(wanted) and k <= fault.copy.end for k in starts)
        if near and meets:
            return True
    return False


def _told(report: Report) -> str:
    faults = [f"{f.kind.value} {f.copy_text!r} {f.proof_text!r}" for f in report.faults]
    return "; ".join([*faults, *(f"not read: {each.words}" for each in report.unread)])


def main() -> None:
    """Set, pull and read all tickets; print a row for each wear."""
    given = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    given.add_argument("--wear", default="clean,good,worn")
    given.add_argument("--names", default="")
    given.add_argument("--seed", type=int, default=0, help="of the pulls")
    given.add_argument("--shown", action="store_true")
    asked = given.parse_args()
    chosen = [t for t in TICKETS if not asked.names or t.name in asked.names.split(",")]
    print("| wear | planted | found | sound | clean | alleged | not read |\n|" + "---|" * 7)
    for wear in asked.wear.split(","):
        planted = found = clean = alleged = unread = sheets = 0
        for seed, ticket in enumerate(chosen, 1 + asked.seed):
            copy = copy_of(ticket)
            report = read(sheet_of(ticket, 0, None)[0], copy, wear, seed)
            sheets += 1
            clean += report.verdict.value == "clean"
            alleged += len(report.faults)
            unread += len(report.unread)
            if asked.shown and (report.faults or report.unread):
                print(f"  {wear} {ticket.name}: {_told(report)}")
            for n, block in enumerate(ticket.blocks):
                for wanted, printed in block.faults:
                    at = seed % ticket.up
                    proof, place = sheet_of(ticket, at, (n, wanted, printed))
                    report = read(proof, copy, wear, seed + 100)
                    planted += 1
                    ok = is_found(report, copy, wanted, place)
                    found += ok
                    if asked.shown and not ok:
                        print(f"  {wear} {ticket.name}: {wanted} → {printed}: {_told(report)}")
        print(f"| {wear} | {planted} | {found} | {sheets} | {clean} | {alleged} | {unread} |")


if __name__ == "__main__":
    main()

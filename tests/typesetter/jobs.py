"""The printer's jobs that the samples show: all places, people, firms and pieces are invented."""

from __future__ import annotations

from .matter import Columns, Gap, Head, Leader, Ornament, Para, Rule, Style

__all__ = ["CONCERT", "CONCERT_STYLE", "NOTICE", "NOTICE_STYLE", "PRICES", "PRICES_STYLE"]

CONCERT_STYLE = Style(family="schola", body_pt=10, lead_pt=2, bands="thick")

_ABOUT = (
    (
        "The band was first gathered in the winter when the mill stood still, and the office of "
        "bandmaster fell to the wheelwright, who could not read a note but had a fine sense of "
        "pitch. Eleven men and two boys learned their parts by lantern in the drying loft. The "
        "first march they played in the open was heard, it is said, as far as the second "
        "milestone, and a flock of geese walked behind them the whole way home."
    ),
    (
        "This summer’s programme has been arranged so that the children may hear the merry "
        "pieces before the air grows cool, and their grandfathers the solemn ones afterwards. "
        "The overture is new to Ottersedge: it was written for the opening of the lock, and has "
        "not been given since the water was let in. The polka is affectionately dedicated to the"
        " ferryman’s patient donkey, which will attend if the weather is fine."
    ),
    (
        "Visitors are asked to shut both gates, to leave the left-hand path to the sheep, and to"
        " keep their seats until the last verse of the evening hymn, when hats will be passed "
        "for the new bass drum. Should it rain, the concert will be held in the upper mill, and "
        "the donkey excused."
    ),
)

CONCERT = (
    Head("THE OTTERSEDGE VILLAGE BAND", 13, 4, letterspace_pt=1.0),
    Rule(width_pt=150, double=True, body_pt=8),
    Gap(4),
    Head("SUMMER CONCERT", 24, 4, letterspace_pt=1.5),
    Head("in the Mill Meadow", 14, 6, style="italic"),
    Head("Saturday, the 11th of July, at three o’clock", 11, 2),
    Head("Bandmaster, Josiah Fennimarch", 10, 2, style="small-caps"),
    Gap(3),
    Ornament(12),
    Gap(3),
    *(Para(text) for text in _ABOUT),
    Gap(8),
    Head("PROGRAMME", 12, 4, letterspace_pt=2.0),
    Leader("1. March, _The Five-Barred Gate_", "E. Quillfeather"),
    Leader("2. Overture, _The Opening of the Lock_", "Aldous Tarrimew"),
    Leader("3. Polka, _The Ferryman’s Donkey_", "E. Quillfeather"),
    Leader("4. Song for cornet, _Under the Osiers_", "traditional"),
    Leader("5. Waltz, _Candles in the Loft_", "Hepzibah Orrin-Vale"),
    Leader("6. Galop, _Geese on the Milestone Road_", "J. Fennimarch"),
    Leader("7. Evening hymn, _When Mill and Water Rest_", "traditional"),
    Gap(6),
    Rule(width_pt=90),
    Gap(4),
    Head("Admission sixpence; children in arms, and donkeys, free", 9, 8),
    Rule(double=True),
    Gap(2),
    Head("THISTLEWOOD & CRUMB", 12, 2, letterspace_pt=1.0, style="bold"),
    Para(
        "_Seedsmen and ironmongers, at the Crossways,_ lend the benches and the tea urns for "
        "this concert, and will sell buns at cost until they are gone.",
        align="centre",
        style=Style(family="schola", body_pt=9, lead_pt=2),
    ),
)

PRICES_STYLE = Style(family="old-standard", body_pt=9, lead_pt=2, bands="extra-thin")

_SEEDS = (
    Head("SEEDS", 11, 4, letterspace_pt=1.5),
    Leader("Broad bean, Long Harrow, per quart", "1s. 2d."),
    Leader("Runner bean, Scarlet Ladder", "1s. 4½d."),
    Leader("Beetroot, Crossways Globe, per oz.", "3½d."),
    Leader("Cabbage, Early Parson, per oz.", "6d."),
    Leader("Carrot, Short Thumb, per oz.", "4¼d."),
    Leader("Leek, Ottersedge Pole, per packet", "2d."),
    Leader("Lettuce, Cool Cellar, per packet", "1½d."),
    Leader("Marrow, Rolling Barrel, each seed", "¼d."),
    Leader("Onion, Brown Lantern, per oz.", "7d."),
    Leader("Parsnip, Long Sermon, per oz.", "3d."),
    Leader("Peas, Miller’s Early, per quart", "1s. 8d."),
    Leader("Peas, Tall Curate, per quart", "1s. 10d."),
    Leader("Radish, Quick Ember, per oz.", "3d."),
    Leader("Turnip, White Bowl, per oz.", "2½d."),
    Gap(5),
    Para(
        "Seed is of last summer’s saving and is sown in our own trial bed before it is sold. "
        "Packets that fail to come up, if sown by the almanack, will be changed."
    ),
)

_IRON = (
    Head("IRONMONGERY", 11, 4, letterspace_pt=1.5),
    Leader("Bucket, galvanised, two gallons", "1s. 6d."),
    Leader("Butter scales, with weights", "14s. 9d."),
    Leader("Dibber, ash, iron shod", "1s. 1½d."),
    Leader("Fork, digging, four prongs", "3s. 11d."),
    Leader("Garden line and reel", "2s. 3d."),
    Leader("Hinges, tee, the pair", "8¾d."),
    Leader("Hoe, Dutch, six inches", "1s. 7d."),
    Leader("Kettle, iron, three quarts", "4s. 2d."),
    Leader("Lantern, stable, tin", "2s. 5½d."),
    Leader("Nails, cut, per lb.", "3¼d."),
    Leader("Rake, fourteen teeth", "1s. 9d."),
    Leader("Roller, garden, second hand", "£1 12s. 6d."),
    Leader("Spade, strapped", "4s. 4d."),
    Leader("Wheelbarrow, elm, painted", "£1 3s. 0d."),
    Gap(5),
    Para(
        "Tools are ground and handles fitted on the premises, Tuesdays and Fridays. Old iron is "
        "taken in part exchange at a fair price, weighed before the customer."
    ),
)

PRICES = (
    Head("THISTLEWOOD & CRUMB", 18, 3, letterspace_pt=1.5),
    Head("Seedsmen and ironmongers, at the Crossways", 11, 4, style="italic"),
    Rule(double=True, body_pt=8),
    Head("Prices from Lady Day until further notice", 10, 5),
    Columns(_SEEDS, _IRON, gutter_pt=18),
    Gap(4),
    Rule(),
    Head("Terms: ready money; five per cent. off accounts over £5", 9, 2),
)

NOTICE_STYLE = Style(family="goudy", body_pt=14, lead_pt=3, bands="wide-range")

NOTICE = (
    Head("NOTICE", 24, 4, letterspace_pt=3.0),
    Ornament(14),
    Para(
        "The foot-bridge below the mill will be closed from Monday to Thursday, while the "
        "carpenter renews the planks and the hand rail on the upstream side."
    ),
    Para(
        "Those bound for the school may cross by the ferry without charge, if they bring their "
        "own umbrellas and do not feed the donkey."
    ),
    Head("By order of the Bridge Wardens", 12, 2, style="italic", align="right"),
)

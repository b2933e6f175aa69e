"""Plain text and Markdown as copy: encodings, paragraphs, emphasis, and every bad input."""

import hashlib
import io

import pytest

from proofcheck.base.errors import CopyError
from proofcheck.base.values import Span
from proofcheck.copytext import load_copy

SENTENCE = "Café à la crème — “ninepence”, £5"


def written(tmp_path, data, name="copy.txt"):
    path = tmp_path / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def matter(copy):
    return [copy.text[span.start : span.end] for span in copy.paragraphs]


@pytest.mark.parametrize(
    ("codec", "taken"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16"),
        ("utf-16-le", "utf-16-le"),
        ("utf-16-be", "utf-16-be"),
        ("utf-32", "utf-32"),
        ("cp1252", "cp1252"),
        ("mac_roman", "mac-roman"),
    ],
)
def test_usual_encodings_are_found_and_named(tmp_path, codec, taken):
    copy = load_copy(written(tmp_path, SENTENCE.encode(codec)))
    assert copy.text == SENTENCE
    assert copy.encoding == taken


def test_a_guessed_encoding_is_said_and_a_told_one_is_taken(tmp_path):
    path = written(tmp_path, "dû £3".encode("latin-1"))
    assert "encoding" in load_copy(path).notes[0]
    told = load_copy(path, encoding="latin-1")
    assert (told.text, told.encoding, told.notes) == ("dû £3", "iso8859-1", ())


def test_hash_is_of_the_bytes_as_supplied(tmp_path):
    data = b"\xef\xbb\xbfOne\r\ntwo"
    copy = load_copy(written(tmp_path, data))
    assert copy.sha256 == hashlib.sha256(data).hexdigest()
    assert copy.text == "One\ntwo"


def test_standard_input():
    copy = load_copy("-", stdin=io.BytesIO(b"Grand March"))
    assert (copy.text, copy.name) == ("Grand March", "-")


def test_every_sort_of_line_end_becomes_one(tmp_path):
    copy = load_copy(written(tmp_path, "a\r\nb\rc\nd\fe\vf\u2028g\u2029h\x85i".encode()))
    assert copy.text == "a\nb\nc\nd\ne\nf\ng\nh\ni"


def test_control_characters_are_replaced_one_for_one_and_said(tmp_path):
    copy = load_copy(written(tmp_path, "red\x1b[31m \u202eturned\u202c\x9b"))
    assert copy.text == "red\ufffd[31m \ufffdturned\ufffd\ufffd"
    assert "U+001B" in copy.notes[0]
    assert "4 control characters" in copy.notes[0]


def test_text_once_read_in_the_wrong_encoding_is_said(tmp_path):
    twice = SENTENCE.encode().decode("cp1252", errors="ignore")
    assert "wrong encoding" in load_copy(written(tmp_path, twice)).notes[0]
    assert load_copy(written(tmp_path, SENTENCE)).notes == ()


def test_empty_lines_part_paragraphs_and_single_line_ends_stay(tmp_path):
    copy = load_copy(written(tmp_path, "\n\nFirst line,\nsecond.\n \n\tThird  \n\n\n"))
    assert matter(copy) == ["First line,\nsecond.", "Third"]
    assert copy.text == "\n\nFirst line,\nsecond.\n \n\tThird  \n\n\n"


def test_line_ends_between_long_lines_were_meant(tmp_path):
    long = "word " * 30
    copy = load_copy(written(tmp_path, f"Title\n\n{long}\n{long}\nShort line.\n"))
    assert matter(copy) == ["Title", long.strip(), long.strip(), "Short line."]


def test_a_price_list_without_empty_lines_is_a_paragraph_a_line(tmp_path):
    lines = ["Handbills, per hundred 4 6", "Cards 3 0", "Circulars 7 6", "Labels 2 0"]
    assert matter(load_copy(written(tmp_path, "\n".join(lines)))) == lines


def test_wrapped_prose_without_empty_lines_ends_where_room_was_left(tmp_path):
    text = (
        "The band will play upon the green at three of the\n"
        "clock, and again at seven, if the evening be fine;\n"
        "tickets at the door.\n"
        "Carriages may be ordered for ten o'clock precisely\n"
        "from the inn.\n"
    )
    assert [part.count("\n") for part in matter(load_copy(written(tmp_path, text)))] == [2, 1]


def test_indented_lines_begin_paragraphs_where_no_line_is_empty(tmp_path):
    text = (
        "   One line of a paragraph filled\nand then another, filled as well,\n"
        "with one more to come, also full,\nand then the last of them as full\n   Two it is."
    )
    assert [m.split()[0] for m in matter(load_copy(written(tmp_path, text)))] == ["One", "Two"]


def test_ten_megabytes_on_one_line(tmp_path):
    copy = load_copy(written(tmp_path, b"word and more " * 750_000))
    assert copy.paragraphs == (Span(0, 10_499_999),)


MARKDOWN = """\
# Programme of *Music*

The band plays **Grand March**, _air_ and
[the rest](https://example.org); 2 \\* 2.\\
Fine & dry <b>or</b> not. ![picture](x.png)

- one
- two

7. seven
8. eight

> quoted

    code  kept

| Item | s. d. |
|------|-------|
| Card | 3 0   |
"""


def test_markdown_becomes_plain_paragraphs(tmp_path):
    copy = load_copy(written(tmp_path, MARKDOWN, "copy.md"))
    assert matter(copy) == [
        "Programme of Music",
        "The band plays Grand March, air and\nthe rest; 2 * 2.\nFine & dry <b>or</b> not.",
        "one",
        "two",
        "7. seven",
        "8. eight",
        "quoted",
        "code  kept",
        "Item\ts. d.",
        "Card\t3 0",
    ]
    assert "\n\n".join(matter(copy)) == copy.text


def test_markdown_emphasis_is_noted_where_it_stands(tmp_path):
    copy = load_copy(written(tmp_path, MARKDOWN + "\n***all** of it*\n", "copy.markdown"))
    worn = [(copy.text[e.span.start : e.span.end], e.style) for e in copy.emphasis]
    assert worn == [
        ("Music", "italic"),
        ("Grand March", "bold"),
        ("air", "italic"),
        ("all", "bold"),
        ("all of it", "italic"),
    ]


# Worked examples of the CommonMark specification 0.31.2, sections 2.4, 2.5, 6.1 and 6.2, as
# plain text (from memory; the parser library runs the whole of that specification itself).
@pytest.mark.parametrize(
    ("source", "plain"),
    [
        (r"\!\"\#\$\%", '!"#$%'),
        (r"\*not emphasized*", "*not emphasized*"),
        ("&copy; &AElig; &frac34;", "© Æ ¾"),
        ("`` foo ` bar ``", "foo ` bar"),
        ("5*6*78", "5678"),
        ("пристаням_стремятся_", "пристаням_стремятся_"),
    ],
)
def test_commonmark_examples(tmp_path, source, plain):
    assert load_copy(written(tmp_path, source, "copy.md")).text == plain


BAD = {
    "empty": (b"", "empty"),
    "blank": (b" \r\n\t\n", "only blanks"),
    "nul": (b"one\x00two" * 9, "binary"),
    "binary": (bytes(range(1, 128)) * 40, "binary"),
    "pdf": (b"%PDF-1.7\n", "PDF"),
    "png": (b"\x89PNG\r\n\x1a\n" + bytes(40), "PNG"),
    "jpeg": (b"\xff\xd8\xff\xe0" + bytes(40), "JPEG"),
    "tiff": (b"II*\x00" + bytes(40), "TIFF"),
    "webp": (b"RIFF\x00\x00\x00\x00WEBPVP8 ", "WebP"),
    "bmp": (b"BM" + bytes(60), "BMP"),
    "rtf": (b"{\\rtf1\\ansi Hello}", "RTF"),
    "doc": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), r"\.doc"),
    "zip": (b"PK\x03\x04" + bytes(60), "zip"),
    "damaged": ("Señor, ¿qué?".encode() + b"\xe9t\xe9"[:1] + b" end", "damaged"),
    "cut": ("Fin à la carte, là".encode()[:-1], "damaged"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_copy_is_refused_in_one_line_that_names_it(tmp_path, case):
    data, reason = BAD[case]
    path = written(tmp_path, data)
    with pytest.raises(CopyError, match=reason) as caught:
        load_copy(path)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith(str(path))


def test_files_that_are_not_there_or_no_files(tmp_path):
    with pytest.raises(CopyError, match="no such file"):
        load_copy(tmp_path / "none.txt")
    with pytest.raises(CopyError, match="folder"):
        load_copy(tmp_path)
    with pytest.raises(CopyError, match="not a usable file name"):
        load_copy("a\x00b")
    with pytest.raises(CopyError, match="standard input: the copy is empty"):
        load_copy("-", stdin=io.BytesIO())


@pytest.mark.parametrize("encoding", ["nonsense", "rot13", "hex", "a\x00b"])
def test_unknown_encoding(tmp_path, encoding):
    with pytest.raises(CopyError, match="unknown encoding"):
        load_copy(written(tmp_path, b"text"), encoding=encoding)


def test_an_encoding_that_does_not_fit_names_byte_and_line(tmp_path):
    with pytest.raises(CopyError, match="byte 0xe9 in line 2"):
        load_copy(written(tmp_path, b"one\ncaf\xe9"), encoding="utf-8")


def test_more_than_the_most_is_refused(monkeypatch):
    monkeypatch.setattr("proofcheck.copytext.source.MOST_BYTES", 2**20)
    with pytest.raises(CopyError, match="larger than 1 MiB"):
        load_copy("-", stdin=io.BytesIO(b"x" * (2**20 + 1)))


@pytest.mark.parametrize("piece", ["[", "*a ", "`a", "![[", "- ", "a_"])
def test_hostile_markdown_ends_soon(tmp_path, piece):
    copy = load_copy(written(tmp_path, "x " + piece * 5000, "copy.md"))
    assert copy.text

"""DOCX and ODT as copy, made by two general libraries and, where those can't, by hand."""

import io
import zipfile

import docx
import pytest
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from odf import style, table, text
from odf.opendocument import OpenDocumentText

from proofcheck.base.errors import CopyError
from proofcheck.copytext import load_copy

W = 'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'
MC = 'xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"'


def packed(parts):
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, body in parts.items():
            pack.writestr(name, body)
    return held.getvalue()


def word(body, **parts):
    document = f"<w:document {W} {MC}><w:body>{body}</w:body></w:document>"
    others = {f"word/{name}.xml": part for name, part in parts.items()}
    return packed({"word/document.xml": document} | others)


def loaded(data):
    return load_copy("-", stdin=io.BytesIO(data))


def worn(copy):
    return [(copy.text[e.span.start : e.span.end], e.style) for e in copy.emphasis]


def test_docx_as_a_library_writes_it():
    document = docx.Document()
    document.add_heading("Summer Concert", level=1)
    paragraph = document.add_paragraph("The band plays ")
    paragraph.add_run("Grand").italic = True
    paragraph.add_run(" March").italic = True
    paragraph.add_run("\tat\nthree").bold = True
    document.add_paragraph("   ")
    grid = document.add_table(rows=2, cols=2)
    for cell, matter in zip(
        [cell for row in grid.rows for cell in row.cells],
        ["Cards", "3 0", "Bills", "4 6"],
        strict=True,
    ):
        cell.text = matter
    document.add_paragraph("Quoted", style="Intense Quote")
    held = io.BytesIO()
    document.save(held)
    copy = loaded(held.getvalue())
    assert copy.text == (
        "Summer Concert\n\nThe band plays Grand March\tat\nthree\n\n"
        "Cards\t3 0\n\nBills\t4 6\n\nQuoted"
    )
    # The heading's and the quotation's weight and posture come from their styles.
    assert worn(copy) == [
        ("Summer Concert", "bold"),
        ("Grand March", "italic"),
        ("\tat\nthree", "bold"),
        ("Quoted", "bold"),
        ("Quoted", "italic"),
    ]


def test_docx_tracked_changes_are_refused():
    document = docx.Document()
    paragraph = document.add_paragraph("agreed ")
    change = OxmlElement("w:ins")
    change.set(qn("w:id"), "1")
    change.append(paragraph.add_run("not agreed")._r)
    paragraph._p.append(change)
    held = io.BytesIO()
    document.save(held)
    with pytest.raises(CopyError, match="1 tracked changes nobody has accepted"):
        loaded(held.getvalue())


def test_docx_notes_follow_the_text():
    body = (
        '<w:p><w:r><w:t>Word</w:t></w:r><w:r><w:footnoteReference w:id="2"/></w:r>'
        "<w:r><w:t> goes on.</w:t></w:r></w:p>"
    )
    notes = (
        f'<w:footnotes {W}><w:footnote w:id="2"><w:p><w:r><w:footnoteRef/>'
        "<w:t>The note.</w:t></w:r></w:p></w:footnote></w:footnotes>"
    )
    copy = loaded(word(body, footnotes=notes))
    assert copy.text == "Word1 goes on.\n\n1 The note."
    assert "footnotes stand after the text" in copy.notes[0]


def test_docx_capitals_hidden_text_fields_and_alternates():
    body = (
        "<w:p><w:r><w:rPr><w:caps/></w:rPr><w:t>loud</w:t></w:r>"
        "<w:r><w:rPr><w:vanish/></w:rPr><w:t>hidden</w:t></w:r>"
        '<w:r><w:rPr><w:smallCaps/><w:b w:val="0"/></w:rPr><w:t> small</w:t></w:r>'
        "<w:r><w:instrText>PAGE</w:instrText></w:r><w:r><w:t> co</w:t><w:noBreakHyphen/>"
        "<w:t>op</w:t><w:softHyphen/><w:t>en</w:t></w:r>"
        "<w:r><mc:AlternateContent><mc:Choice><w:drawing><w:txbxContent><w:p><w:r><w:t>Box"
        "</w:t></w:r></w:p></w:txbxContent></w:drawing></mc:Choice><mc:Fallback><w:pict>"
        "<w:txbxContent><w:p><w:r><w:t>Box</w:t></w:r></w:p></w:txbxContent></w:pict>"
        "</mc:Fallback></mc:AlternateContent></w:r></w:p>"
    )
    copy = loaded(word(body))
    assert copy.text == "LOUD small co-op\u00aden\n\nBox"
    assert worn(copy) == [(" small", "small-caps")]
    assert "1 stretches of hidden text" in copy.notes[0]


def opendocument(fill):
    document = OpenDocumentText()
    fill(document)
    held = io.BytesIO()
    document.save(held)
    return held.getvalue()


def test_odt_as_a_library_writes_it():
    def fill(document):
        posture = style.Style(name="T1", family="text")
        posture.addElement(style.TextProperties(fontstyle="italic", fontvariant="small-caps"))
        document.automaticstyles.addElement(posture)
        document.text.addElement(text.H(outlinelevel=1, text="Summer  \n Concert"))
        paragraph = text.P(text="The ")
        paragraph.addElement(text.Span(stylename=posture, text="band"))
        paragraph.addElement(text.S(c=2))
        paragraph.addText("plays")
        paragraph.addElement(text.Tab())
        paragraph.addText("at")
        paragraph.addElement(text.LineBreak())
        paragraph.addText("three")
        note = text.Note(noteclass="footnote")
        note.addElement(text.NoteCitation(text="*"))
        note_body = text.NoteBody()
        note_body.addElement(text.P(text="If fine."))
        note.addElement(note_body)
        paragraph.addElement(note)
        paragraph.addText(" sharp.")
        document.text.addElement(paragraph)
        grid = table.Table(name="Prices")
        for matter in (["Cards", "3 0"], ["Bills", "4 6"]):
            row = table.TableRow()
            grid.addElement(row)
            for each in matter:
                cell = table.TableCell()
                cell.addElement(text.P(text=each))
                row.addElement(cell)
        document.text.addElement(grid)

    copy = loaded(opendocument(fill))
    assert copy.text == (
        "Summer Concert\n\nThe band  plays\tat\nthree* sharp.\n\n"
        "Cards\t3 0\n\nBills\t4 6\n\n* If fine."
    )
    assert worn(copy) == [("band", "italic"), ("band", "small-caps")]


def test_odt_tracked_changes_are_refused():
    changes = "<t:tracked-changes><t:changed-region/></t:tracked-changes>"
    with pytest.raises(CopyError, match="1 tracked changes"):
        loaded(packed({"content.xml": ODT % (changes + "<t:p>agreed</t:p>")}))


ODT = (
    '<o:document-content xmlns:o="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:t="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><o:body><o:text>'
    "%s</o:text></o:body></o:document-content>"
)


def test_a_declared_run_of_blanks_can_not_grow_without_end():
    data = packed({"content.xml": ODT % '<t:p>a<t:s t:c="999999999"/>b</t:p>'})
    assert len(loaded(data).text) < 200


def test_locked_documents():
    manifest = "<m><file-entry><encryption-data/></file-entry></m>"
    with pytest.raises(CopyError, match="password"):
        loaded(packed({"META-INF/manifest.xml": manifest, "content.xml": b"\x8f\x01"}))
    held = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le")
    with pytest.raises(CopyError, match="password"):
        loaded(held)
    flagged = bytearray(word("<w:p/>"))
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        flagged[flagged.index(mark) + at] |= 1
    with pytest.raises(CopyError, match="password"):
        loaded(bytes(flagged))


def test_bombs_are_refused_by_declared_and_by_actual_size(monkeypatch):
    bomb = word("<w:p><w:r><w:t>" + "a" * 200_000 + "</w:t></w:r></w:p>")
    assert len(bomb) < 2000
    assert len(loaded(bomb).text) == 200_000
    monkeypatch.setattr("proofcheck.copytext.packed.MOST_PART_BYTES", 100_000)
    with pytest.raises(CopyError, match="unpacks to more than"):
        loaded(bomb)
    lying = bytearray(bomb)
    for mark, at in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        start = lying.index(mark) + at
        lying[start : start + 4] = (50_000).to_bytes(4, "little")
    with pytest.raises(CopyError, match="unpack"):
        loaded(bytes(lying))


@pytest.mark.parametrize(
    "document",
    [
        '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><x>&b;</x>',
        '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]><x>&a;</x>',
    ],
)
def test_entities_are_refused(document):
    with pytest.raises(CopyError, match="no office program writes"):
        loaded(packed({"word/document.xml": document}))


def test_damaged_and_odd_documents():
    good = word("<w:p><w:r><w:t>text</w:t></w:r></w:p>")
    with pytest.raises(CopyError, match="damaged"):
        loaded(good[:-40])
    with pytest.raises(CopyError, match="damaged"):
        loaded(packed({"word/other.xml": "<x/>"}))
    with pytest.raises(CopyError, match="damaged"):
        loaded(packed({"word/document.xml": "<unclosed>"}))
    with pytest.raises(CopyError, match="no text"):
        loaded(word("<w:p/>"))
    with pytest.raises(CopyError, match="no text document"):
        loaded(packed({"content.xml": "<x/>"}))
    deep = "<w:sdt>" * 20_000 + "</w:sdt>" * 20_000
    with pytest.raises(CopyError, match="nested deeper"):
        loaded(word(deep))


def test_a_text_file_named_as_a_document(tmp_path):
    path = tmp_path / "copy.docx"
    path.write_text("plain words")
    with pytest.raises(CopyError, match="damaged"):
        load_copy(path)

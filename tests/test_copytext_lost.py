"""No word of a document is lost in silence: taken in, told in a note, or refused.

The element names are those of ECMA-376 (WordprocessingML, DrawingML, VML, OMML) and of OpenDocument
1.2, from memory.
"""

import io
import zipfile

import pytest

from proofcheck.base.errors import CopyError
from proofcheck.copytext import load_copy
from proofcheck.copytext.leftover import inherited

NAMES = {
    "w": "http://schemas.openxmlformats.org/wordprocessingml/2006/main",
    "mc": "http://schemas.openxmlformats.org/markup-compatibility/2006",
    "m": "http://schemas.openxmlformats.org/officeDocument/2006/math",
    "a": "http://schemas.openxmlformats.org/drawingml/2006/main",
    "wp": "http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing",
    "v": "urn:schemas-microsoft-com:vml",
    "o": "urn:schemas-microsoft-com:office:office",
    "x": "urn:shop:unknown",
}
ODT_NAMES = {
    "office": "office",
    "text": "text",
    "table": "table",
    "draw": "drawing",
    "style": "style",
    "svg": "svg-compatible",
}
DECLARED = " ".join(f'xmlns:{short}="{name}"' for short, name in NAMES.items())
ODT_DECLARED = " ".join(
    f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for short, name in ODT_NAMES.items()
)


def packed_bytes(parts):
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, body in parts.items():
            pack.writestr(name, body)
    return held.getvalue()


def packed(parts):
    return load_copy("-", stdin=io.BytesIO(packed_bytes(parts)))


def word(body, **parts):
    document = f"<w:document {DECLARED}><w:body>{body}</w:body></w:document>"
    others = {
        f"word/{name}.xml": part.replace(" D>", f" {DECLARED}>", 1) for name, part in parts.items()
    }
    return packed({"word/document.xml": document} | others)


def opened(body, styles="", shared=""):
    head = f"<office:automatic-styles>{styles}</office:automatic-styles>" if styles else ""
    content = (
        f"<office:document-content {ODT_DECLARED}>{head}<office:body><office:text>{body}"
        "</office:text></office:body></office:document-content>"
    )
    parts = {"content.xml": content}
    if shared:
        parts["styles.xml"] = (
            f"<office:document-styles {ODT_DECLARED}>{shared}</office:document-styles>"
        )
    return packed(parts)


def p(*pieces):
    return "<w:p>" + "".join(pieces) + "</w:p>"


def r(matter, properties=""):
    return f"<w:r>{properties and f'<w:rPr>{properties}</w:rPr>'}{matter}</w:r>"


def t(words):
    return f'<w:t xml:space="preserve">{words}</w:t>'


def drawing(kind):
    uri = f"http://schemas.openxmlformats.org/drawingml/2006/{kind}"
    return f'<a:graphic><a:graphicData uri="{uri}"/></a:graphic>'


PLAIN = p(r(t("Doors open at seven.")))


# ------------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("matter", "said"),
    [
        (p(r(t("Area ")), "<m:oMath><m:r><m:t>πr²</m:t></m:r></m:oMath>"), "an equation (“πr²”)"),
        ("<m:oMathPara><m:oMath><m:r><m:t>a+b</m:t></m:r></m:oMath></m:oMathPara>", "an equation"),
        (
            p(r(f"<w:drawing><wp:inline>{drawing('diagram')}</wp:inline></w:drawing>")),
            "a diagram",
        ),
        (
            p(r(f"<w:drawing>{drawing('chart')}</w:drawing>")),
            "a chart",
        ),
        (
            p(r("<w:drawing><a:p><a:r><a:t>SALE</a:t></a:r></a:p></w:drawing>")),
            "drawn words (“SALE”)",
        ),
        (
            p(r('<w:pict><v:shape><v:textpath string="GRAND FAIR"/></v:shape></w:pict>')),
            "“GRAND FAIR”",
        ),
        (p(r("<w:object><o:OLEObject/></w:object>")), "object of another program"),
        ("<w:altChunk/>", "another document"),
        (p("<x:new><x:words>five pounds</x:words></x:new>"), "“five pounds”"),
        (p(r("<x:words>five pounds</x:words>")), "“five pounds”"),
        (
            "<w:sdt><w:sdtContent><x:block>five pounds</x:block></w:sdtContent></w:sdt>",
            "“five pounds”",
        ),
    ],
)
def test_what_would_be_printed_and_can_not_be_taken_in_is_refused(matter, said):
    with pytest.raises(CopyError) as refused:
        word(PLAIN + matter)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("matter", "said"),
    [
        (
            "<text:p><draw:frame><draw:object><i>πr²</i></draw:object></draw:frame></text:p>",
            "(“πr²”)",
        ),
        ("<text:p><draw:frame><draw:object-ole/><draw:image/></draw:frame></text:p>", "equation"),
        ("<draw:g><draw:frame><draw:object/></draw:frame></draw:g>", "equation, chart"),
        ("<x:block xmlns:x='m'>five pounds</x:block>", "“five pounds”"),
        ("<text:p><x:i xmlns:x='m'><text:p>five pounds</text:p></x:i></text:p>", "“five pounds”"),
    ],
)
def test_the_same_of_opendocument(matter, said):
    with pytest.raises(CopyError) as refused:
        opened("<text:p>Doors open at seven.</text:p>" + matter)
    assert said in str(refused.value)


# ------------------------------------------------------------------ what is told


def test_hidden_text_is_left_out_and_quoted_wherever_it_is_hidden():
    styles = (
        '<w:styles D><w:style w:type="paragraph" w:styleId="Inner"><w:rPr><w:vanish/></w:rPr>'
        '</w:style><w:style w:styleId="Deep"><w:basedOn w:val="Inner"/></w:style></w:styles>'
    )
    copy = word(
        PLAIN
        + p(r(t("secret fee"), "<w:vanish/>"), r(t("Shown.")))
        + p('<w:pPr><w:pStyle w:val="Deep"/></w:pPr>', r(t("for us"))),
        styles=styles,
    )
    assert copy.text == "Doors open at seven.\n\nShown."
    assert copy.notes == ("2 stretches of hidden text were left out (“secret fee”).",)


def test_a_default_style_that_hides_or_slants_holds_for_paragraphs_that_name_none():
    styles = (
        '<w:styles D><w:style w:type="paragraph" w:default="1" w:styleId="Usual">'
        "<w:rPr><w:i/></w:rPr></w:style></w:styles>"
    )
    copy = word(PLAIN, styles=styles)
    assert [e.style for e in copy.emphasis] == ["italic"]


def test_text_boxes_stand_after_their_paragraph_and_pictures_are_told():
    words = f"<w:txbxContent>{p(r(t('Tea 6d.')))}</w:txbxContent>"
    at = "<wp:posOffset>120</wp:posOffset>"
    box = f"<w:drawing><wp:anchor>{at}{words}</wp:anchor></w:drawing>"
    picture = "<w:drawing><wp:inline><a:graphic/></wp:inline></w:drawing>"
    copy = word(p(r(t("First. ")), r(box), r(t("Still first."))) + p(r(picture), r(t("Last."))))
    assert copy.text == "First. Still first.\n\nTea 6d.\n\nLast."
    assert copy.notes == (
        "1 text boxes stand as paragraphs of their own, each after the paragraph it is fixed to.",
        "1 pictures or drawings in the copy can't be compared; look at them yourself.",
    )


def test_words_only_in_the_fallback_are_taken_from_there():
    box = f"<w:pict><w:txbxContent>{p(r(t('Tea 6d.')))}</w:txbxContent></w:pict>"
    both = (
        f"<mc:AlternateContent><mc:Choice/><mc:Fallback>{box}</mc:Fallback></mc:AlternateContent>"
    )
    assert word(PLAIN + p(r(both))).text.endswith("\n\nTea 6d.")


def test_heads_comments_glosses_and_page_numbers_are_told():
    ruby = f"<w:ruby><w:rt>{r(t('gloss'))}</w:rt><w:rubyBase>{r(t('word'))}</w:rubyBase></w:ruby>"
    copy = word(
        p(r(t("Page ")), r("<w:pgNum/>"), r(ruby), "<w:r><w:ptab/></w:r>", r(t("end"))),
        header1=f"<w:hdr D>{p(r(t('Draft 3')))}</w:hdr>",
        footer1=f"<w:ftr D>{p()}</w:ftr>",
        comments=f"<w:comments D><w:comment>{p(r(t('really?')))}</w:comment></w:comments>",
    )
    assert copy.text == "Page word\tend"
    assert [note.split(" were ")[0].split(" that ")[0] for note in copy.notes] == [
        "1 page numbers or dates", "1 glosses over words", "1 heads or feet of pages", "1 comments",
    ]  # fmt: skip
    assert "“Draft 3”" in copy.notes[2]


def test_numbers_given_by_a_style_are_told():
    styles = (
        '<w:styles D><w:style w:styleId="Listed"><w:pPr><w:numPr><w:numId w:val="3"/></w:numPr>'
        "</w:pPr></w:style></w:styles>"
    )
    listed = p('<w:pPr><w:pStyle w:val="Listed"/></w:pPr>', r(t("Tea")))
    off = p(
        '<w:pPr><w:pStyle w:val="Listed"/><w:numPr><w:numId w:val="0"/></w:numPr></w:pPr>',
        r(t("Cake")),
    )
    copy = word(listed + listed + off, styles=styles)
    assert copy.notes[0].startswith("2 paragraphs or list items get a number")


def test_opendocument_boxes_hidden_matter_and_comments():
    styles = (
        '<style:style style:name="H"><style:text-properties text:display="none"/></style:style>'
    )
    copy = opened(
        "<text:p>First <draw:frame><draw:text-box><text:p>Tea 6d.</text:p></draw:text-box>"
        "<svg:title>alt</svg:title></draw:frame>still.</text:p>"
        "<text:p>Shown<text:span text:style-name='H'> secret fee</text:span>.</text:p>"
        "<text:p text:style-name='H'>for us</text:p>"
        "<text:p>not this<text:hidden-paragraph text:is-hidden='true'/></text:p>"
        "<text:section text:display='none'><text:p>nor this</text:p></text:section>"
        "<text:p><draw:custom-shape><text:p>In a </text:p><text:p>shape</text:p>"
        "</draw:custom-shape>"
        "<draw:frame><draw:image/></draw:frame>end<office:annotation><text:p>really?</text:p>"
        "</office:annotation></text:p>"
        "<text:table-of-content><text:table-of-content-source><text:index-title-template>Contents"
        "</text:index-title-template></text:table-of-content-source><text:index-body><text:p>One 1"
        "</text:p></text:index-body></text:table-of-content>",
        styles=styles,
        shared="<office:master-styles><style:master-page><style:header><text:p>Draft 3</text:p>"
        "</style:header></style:master-page></office:master-styles>",
    )
    assert copy.text == ("First still.\n\nTea 6d.\n\nShown.\n\nend\n\nIn a\n\nshape\n\nOne 1")
    assert copy.notes == (
        "4 stretches of hidden text were left out (“secret fee”).",
        "2 text boxes stand as paragraphs of their own, each after the paragraph it is fixed to.",
        "1 pictures or drawings in the copy can't be compared; look at them yourself.",
        "1 heads or feet of pages were left out (“Draft 3”).",
        "1 comments were left out (“really?”).",
    )


def test_markdown_tells_of_pictures_rules_and_definitions(tmp_path):
    path = tmp_path / "copy.md"
    path.write_text("Come early.\n\n[Note]: bring-a-chair\n\n***\n\n![band](band.png) plays\n")
    copy = load_copy(path)
    assert copy.text == "Come early.\n\nplays"
    assert copy.notes == (
        "1 pictures in the copy can't be compared; look at them yourself.",
        "1 rules between paragraphs were left out.",
        "1 definitions of links were left out (“[note]:”).",
    )


# ------------------------------------------------------------------ bounds


class Counted(dict):
    """Counts how often its values are asked for."""

    asked = 0

    def __getitem__(self, name):
        Counted.asked += 1
        return super().__getitem__(name)


def test_a_chain_of_styles_is_gone_through_once():
    number = 30_000
    own = Counted({str(n): {"italic": "on"} if n == 0 else {} for n in range(number)})
    parents = {str(n): str(n - 1) for n in range(1, number)}
    Counted.asked = 0
    found = inherited(own, parents)
    assert all(worn == {"italic": "on"} for worn in found.values())
    assert Counted.asked == number


@pytest.mark.parametrize("offset", [0, 1, 0x7FFFFFFF, 0xFFFFFFF0, 0xFFFFFFFF])
@pytest.mark.parametrize("field", [42, 10])
def test_a_directory_that_points_astray_is_damage(offset, field):
    """Offset of the part, and way of packing (APPNOTE 4.3.12, from memory)."""
    document = f"<w:document {DECLARED}><w:body>{PLAIN}</w:body></w:document>"
    data = bytearray(packed_bytes({"word/document.xml": document}))
    at = data.index(b"PK\x01\x02") + field
    size = 2 if field == 10 else 4
    data[at : at + size] = (offset & (256**size - 1)).to_bytes(size, "little")
    if field == 42:  # the place of the directory itself: all offsets are reckoned from it
        end = data.index(b"PK\x05\x06") + 16
        data[end : end + 4] = (int.from_bytes(data[end : end + 4], "little") + 40).to_bytes(
            4, "little"
        )
    with pytest.raises(CopyError, match="damaged"):
        load_copy("-", stdin=io.BytesIO(bytes(data)))


def test_a_document_of_endless_parts_is_refused(monkeypatch):
    monkeypatch.setattr("proofcheck.copytext.packed.MOST_BYTES", 10_000)
    heads = {f"header{n}": f"<w:hdr D>{p(r(t('x' * 900)))}</w:hdr>" for n in range(20)}
    with pytest.raises(CopyError, match="unpacks to more"):
        word(PLAIN, **heads)


def test_styles_in_a_ring_are_cut():
    assert inherited({"a": {"b": "on"}, "c": {"i": "on"}}, {"a": "c", "c": "a"})["a"]["i"] == "on"


@pytest.mark.parametrize("count", ["9" * 5000, "-3", "", "２"])
def test_odd_runs_of_blanks(count):
    copy = opened(f'<text:p>a<text:s text:c="{count}"/>b</text:p>')
    assert copy.text[0] == "a"
    assert copy.text[-1] == "b"
    assert len(copy.text) <= 102

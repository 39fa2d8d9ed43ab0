"""Small STEP files with the oddities the standard allows, and hand-written blocks to put into them."""

from __future__ import annotations

from bimcheck.core.ids import derived
from bimcheck.write.step_block import Insertion, record_text

PANEL = "3vB2YO$MX4xv5uCqZZG05x"
PROJECT = "0YvctVUKr0kugbFTf53O9L"

PLAIN = (
    "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n"
    "FILE_NAME('a.ifc','2020-01-01T00:00:00',(''),(''),'','','');\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n"
    f"#1=IFCPROJECT('{PROJECT}',$,'name',$,$,$,$,$,#2);\n"
    "#2=IFCUNITASSIGNMENT((#3));\n#3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);\n"
    f"#40=IFCPLATE('{PANEL}',$,'panel',$,$,$,$,$,$);\nENDSEC;\nEND-ISO-10303-21;\n"
).encode()

ODD: dict[str, bytes] = {
    "plain": PLAIN,
    "crlf": PLAIN.replace(b"\n", b"\r\n"),
    "old-mac-line-ends": PLAIN.replace(b"\n", b"\r"),
    "no-final-newline": PLAIN.rstrip(b"\n"),
    "all-on-one-line": PLAIN.replace(b"\n", b""),
    "indented-endsec": PLAIN.replace(b"ENDSEC;\nEND-ISO", b"  ENDSEC ;\n\nEND-ISO"),
    "lines-broken-anywhere": PLAIN.replace(b"#40=IFCPLATE(", b"#40\n =\n\tIFCPLATE\n( "),
    "comment-with-endsec": PLAIN.replace(b"ENDSEC;\nEND-ISO", b"ENDSEC; /* ENDSEC; DATA; */\nEND-ISO"),
    "comment-with-entity": PLAIN.replace(b"#40=", b"/* #99=IFCWALL('x;'); */#40="),
    "comment-after-the-end": PLAIN + b"/* ENDSEC;\nEND-ISO-10303-21; */",
    "text-with-endsec": PLAIN.replace(b"'panel'", b"'it''s ENDSEC; /* #77=X(); DATA;'"),
    "text-with-quote-and-codes": PLAIN.replace(b"'panel'", b"'a''b\\\\c \\X2\\043F0430\\X0\\;'"),
    "data-with-a-name": PLAIN.replace(b"DATA;", b"DATA('one',('IFC4'));"),
    "dangling-reference": PLAIN.replace(b"#2);", b"#2);\n#50=IFCGROUP('x',#4711,$,$,$);"),
    "leading-zeros": PLAIN.replace(b"#40=", b"#00000000040="),
    "complex-instance": PLAIN.replace(b"#40=", b"#39=(A($)B('x'));\n#40="),
    "number-in-a-text": PLAIN.replace(b"'panel'", b"'see #99999999999999999999'"),
    "substitute-character": PLAIN + b"\x1a",
}

REFUSED: dict[str, bytes] = {
    "empty": b"",
    "not-step": b"<ifcXML/>",
    "two-data-sections": PLAIN.replace(b"END-ISO", b"DATA;\n#41=IFCWALL('x',$,$,$,$,$,$,$,$);\nENDSEC;\nEND-ISO"),
    "broken-off": PLAIN[: PLAIN.rindex(b"ENDSEC")],
    "broken-off-in-a-text": PLAIN[: PLAIN.rindex(b"panel") + 2],
    "no-closing-line": PLAIN[: PLAIN.rindex(b"END-ISO")],
    "signed": PLAIN.replace(b"END-ISO", b"SIGNATURE;\nABC\nENDSEC;\nEND-ISO"),
    "no-room-for-numbers": PLAIN.replace(b"#40=", b"#2147483000="),
}


def block(place: Insertion, name: str = "Bimcheck_Wind", key: str = "Bimcheck_Wind") -> list[str]:
    """A run record and one set on the panel #40, the least a block can be."""
    n, last = place.first, place.first + 6
    return [
        f"#{n}=IFCPROPERTYSET('{derived(PROJECT, 'set', 'Bimcheck_Run')}',$,'Bimcheck_Run','{record_text(place, last)}',"
        f"(#{n + 2}));\n",
        f"#{n + 1}=IFCRELDEFINESBYPROPERTIES('{derived(PROJECT, 'set-link', 'Bimcheck_Run')}',$,'Bimcheck_Run',$,(#1),#{n});\n",
        f"#{n + 2}=IFCPROPERTYSINGLEVALUE('Version',$,IFCLABEL('0; it''s'),$);\n",
        f"#{n + 3}=IFCPROPERTYSET('{derived(PANEL, 'set', key)}',$,'{name}',$,(#{n + 5},#{n + 6}));\n",
        f"#{n + 4}=IFCRELDEFINESBYPROPERTIES('{derived(PANEL, 'set-link', key)}',$,'{key}',$,(#40),"
        f"#{n + 3});\n",
        f"#{n + 5}=IFCPROPERTYSINGLEVALUE('A',$,IFCREAL(1.),$);\n",
        f"#{n + 6}=IFCPROPERTYSINGLEVALUE('B',$,IFCREAL(2.5),$);\n",
    ]

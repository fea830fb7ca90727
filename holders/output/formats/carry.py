"""The preset's text put into finished files, format by format; each still reads as before to every other program.

The preset is added to the finished bytes, so that a format's own module need not know of it. The same preset and the
same file give the same bytes. Reading it back is ``holders.preset.carried``.
"""

from __future__ import annotations

import io
import json
import re
import zipfile
from xml.sax.saxutils import escape

from holders.preset.carried import GLB_HEAD, GLB_JSON, MARK, PART, PDF_HEAD, lines_of

RELATION = "http://schemas.openxmlformats.org/package/2006/relationships/metadata/holders-preset"


def into_svg(data: bytes, text: str) -> bytes:
    """A ``metadata`` element behind the title, as SVG has it for such things."""
    end = b"</title>"
    head, found, rest = data.partition(end)
    if not found:
        raise ValueError("the drawing has no title to put the preset behind")
    lines = escape("\n".join(lines_of(text)))
    return head + end + f'<metadata id="{MARK}">\n{lines}\n</metadata>'.encode("ascii") + rest


def into_dxf(data: bytes, text: str) -> bytes:
    """Comments (group code 999) in front of the first section; readers pass over them."""
    return "".join(f"999\n{MARK} {line}\n" for line in lines_of(text)).encode("ascii") + data


def into_threemf(data: bytes, text: str) -> bytes:
    """A part of the package, with its content type and a relationship, as the packaging standard asks for."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename == "[Content_Types].xml":
                content = _before(
                    content, "</Types>", '<Default Extension="toml" ContentType="application/toml"/>'
                )
            elif entry.filename == "_rels/.rels":
                one = f'<Relationship Type="{RELATION}" Target="/{PART}" Id="{MARK}"/>'
                content = _before(content, "</Relationships>", one)
            new.writestr(entry, content, compresslevel=6)
        added = zipfile.ZipInfo(PART, old.infolist()[0].date_time)
        added.compress_type = zipfile.ZIP_DEFLATED
        added.external_attr = old.infolist()[0].external_attr
        new.writestr(added, text.encode("utf-8"), compresslevel=6)
    return out.getvalue()


def _before(content: bytes, end: str, what: str) -> bytes:
    head, found, rest = content.rpartition(end.encode())
    if not found:
        raise ValueError(f"no {end} in the package")
    return head + what.encode() + found + rest


def into_glb(data: bytes, text: str) -> bytes:
    """A string among the extras of the asset (glTF 2.0, 3.6: application-specific data)."""
    magic, version, whole, size, kind = GLB_HEAD.unpack_from(data)
    if (magic, version, kind) != (b"glTF", 2, GLB_JSON):
        raise ValueError("the file is no binary glTF 2.0")
    end = GLB_HEAD.size + size
    tree = json.loads(data[GLB_HEAD.size : end])
    tree["asset"].setdefault("extras", {})[MARK] = text
    content = json.dumps(tree, separators=(",", ":")).encode("ascii")
    content += b" " * (-len(content) % 4)  # chunks are padded to four bytes, this one with spaces
    head = GLB_HEAD.pack(magic, version, whole - size + len(content), len(content), kind)
    return head + content + data[end:]


def into_pdf(data: bytes, text: str) -> bytes:
    """An attachment that viewers list, added as an incremental update (ISO 32000-1, 7.5.6) and stored as it is."""
    start = int(_found(rb"startxref\s+(\d+)\s+%%EOF\s*\Z", data)[1])
    trailer = data[data.rindex(b"trailer") :]
    size, root = (int(_found(rb"/%s (\d+)" % key, trailer)[1]) for key in (b"Size", b"Root"))
    info = _found(rb"/Info \d+ 0 R", trailer)[0]
    identity = re.search(rb"/ID\s*\[.*?\]", trailer, re.DOTALL)
    catalog = _found(rb"(?<!\d)%d 0 obj\s*<<(.*?)>>\s*endobj" % root, data, re.DOTALL)[1]
    if b"/Names" in catalog:
        raise ValueError("the document has names of its own already")
    content = text.encode("utf-8")
    stream, spec = size, size + 1
    bodies = {
        root: b"<<%s/Names << /EmbeddedFiles << /Names [ (preset.toml) %d 0 R ] >> >> >>" % (catalog, spec),
        stream: b"<< " + PDF_HEAD % (len(content), len(content)) + content + b"\nendstream",
        spec: b"<< /Type /Filespec /F (preset.toml) /UF (preset.toml) /Desc (The preset of this holder) "
        b"/EF << /F %d 0 R >> >>" % stream,
    }
    out, places = bytearray(data if data.endswith(b"\n") else data + b"\n"), {}
    for number, body in bodies.items():
        places[number] = len(out)
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    xref = len(out)
    out += b"xref\n%d 1\n%010d 00000 n \n" % (root, places[root])
    out += b"%d 2\n%010d 00000 n \n%010d 00000 n \n" % (stream, places[stream], places[spec])
    kept = info + (b" " + identity[0] if identity else b"")
    out += b"trailer\n<< /Size %d /Root %d 0 R %s /Prev %d >>\n" % (size + 2, root, kept, start)
    out += b"startxref\n%d\n%%%%EOF\n" % xref
    return bytes(out)


def _found(pattern: bytes, data: bytes, flags: int = 0) -> re.Match[bytes]:
    found = re.search(pattern, data, flags)
    if found is None:
        raise ValueError(f"the document has no {pattern!r}")
    return found

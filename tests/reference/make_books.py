"""Small spreadsheets and motion-capture files, so that the reader is held against files that its own code did not write.

openpyxl writes .xlsx, odfpy .ods, ezc3d one C3D file; the other C3D files are put together here from the published
specification (C3D File Format User Guide) with `struct`, in the forms that libraries no longer write: whole numbers, DEC and MIPS.
The force is invented: a standing, a jump as squares and a standing, 700 N; left is 52 % of it.

    python3 tests/reference/make_books.py           writes tests/reading/files
    python3 tests/reference/make_books.py --check   compares what can be compared byte by byte
"""
import math
import struct
import sys
from pathlib import Path

OUT = Path(__file__).resolve().parent.parent / "reading" / "files"
RATE, N = 200, 500


def total(i):
    t = i / RATE
    for end, shape in ((0.8, 1.0), (1.0, 0.5), (1.3, 2.1), (1.7, 0.0), (1.8, 3.2)):
        if t < end:
            return 700 * shape + (2 * math.sin(i) if shape else 0.3 * math.sin(i))
    return 700.0 + 2 * math.sin(i)


LEFT = [round(0.52 * total(i), 2) for i in range(N)]
RIGHT = [round(0.48 * total(i), 2) for i in range(N)]


def xlsx():
    import datetime

    import openpyxl

    book = openpyxl.Workbook()
    notes = book.active
    notes.title = "Notes"
    notes.append(["Athlete", "Invented & <person>"])
    notes.append(["Mass", 71.4])
    sheet = book.create_sheet("Data")
    sheet.append(["Exported by an invented program"])
    sheet.append([])
    sheet.append(["Time (s)", "Force left (N)", "Force right (N)", "Note"])
    for i in range(N):
        sheet.append([i / RATE, LEFT[i], RIGHT[i] if i != 50 else None, "jump & land" if i == 300 else None])
    book.save(OUT / "openpyxl.xlsx")
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    sheet.append(["Zeit", "Kraft links [N]", "Kraft rechts [N]"])
    for i in range(N):
        # To the millisecond, as a cell of this kind holds it.
        sheet.append([datetime.datetime(2024, 5, 1, 10, 0, 0) + datetime.timedelta(milliseconds=5 * i), LEFT[i], RIGHT[i]])
    book.save(OUT / "openpyxl-times.xlsx")


def ods():
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    document = OpenDocumentSpreadsheet()
    table = Table(name="Recording")

    def row(cells):
        line = TableRow()
        for cell in cells:
            if cell is None:
                line.addElement(TableCell())
            elif isinstance(cell, str):
                text = TableCell(valuetype="string")
                text.addElement(P(text=cell))
                line.addElement(text)
            else:
                number = TableCell(valuetype="float", value=str(cell))
                number.addElement(P(text=str(cell).replace(".", ",")))
                line.addElement(number)
        table.addElement(line)

    row(["Temps (ms)", "Force gauche (N)", None, "Force droite (N)"])
    for i in range(N):
        row([i * 1000 / RATE, LEFT[i], None, RIGHT[i]])
    document.spreadsheet.addElement(table)
    document.save(str(OUT / "odfpy.ods"))


def by_ezc3d():
    import ezc3d
    import numpy

    c = ezc3d.c3d()
    c["parameters"]["POINT"]["RATE"]["value"] = [100.0]
    c["parameters"]["POINT"]["LABELS"]["value"] = ["HEAD"]
    c["data"]["points"] = numpy.full((4, 1, N // 2), 500.0)
    c["data"]["points"][3] = 1.0
    c["parameters"]["ANALOG"]["RATE"]["value"] = [float(RATE)]
    labels = ["Fx1", "Fy1", "Fz1", "Mx1", "My1", "Mz1", "Fx2", "Fy2", "Fz2", "Mx2", "My2", "Mz2", "EMG"]
    c["parameters"]["ANALOG"]["LABELS"]["value"] = labels
    c["parameters"]["ANALOG"]["UNITS"]["value"] = (["N"] * 3 + ["Nmm"] * 3) * 2 + ["V"]
    data = numpy.zeros((1, 13, N))
    data[0, 2], data[0, 8] = [-x for x in LEFT], [-x for x in RIGHT]
    data[0, 0], data[0, 12] = 3.0, numpy.sin(numpy.arange(N))
    c["data"]["analogs"] = data
    c.add_parameter("FORCE_PLATFORM", "USED", [2])
    c.add_parameter("FORCE_PLATFORM", "TYPE", [2, 2])
    c.add_parameter("FORCE_PLATFORM", "CHANNEL", numpy.array([[1.0, 7.0], [2.0, 8.0], [3.0, 9.0], [4.0, 10.0], [5.0, 11.0], [6.0, 12.0]]))
    c.add_parameter("FORCE_PLATFORM", "ZERO", [1, 0])
    c.add_parameter("FORCE_PLATFORM", "CORNERS", numpy.zeros((3, 4, 2)))
    c.add_parameter("FORCE_PLATFORM", "ORIGIN", numpy.zeros((3, 2)))
    c.write(str(OUT / "ezc3d.c3d"))


def c3d(name, processor, floats, kind):
    """A C3D file by the specification: one point, two plates of `kind`, two analogue samples a frame."""
    order = ">" if processor == 86 else "<"

    def i16(x):
        return struct.pack(order + "H", x & 0xFFFF)

    def f32(x):
        if processor != 85:
            return struct.pack(order + "f", x)
        # DEC: four times the value, the two words swapped.
        a = struct.pack("<f", x * 4)
        return a[2:] + a[:2]

    per_plate = 8 if kind == 3 else 6
    channels = 2 * per_plate
    scale, offset = 0.05, 100 if not floats else 0

    def values(i):
        out = []
        for force in (LEFT[i], RIGHT[i]):
            if kind == 3:
                out += [1.0, -1.0, 0.5, -0.5] + [-force * part for part in (0.31, 0.27, 0.22, 0.20)]
            else:
                # Type 4 is in volts: 250 N a volt by the matrix.
                fz = -force / (250.0 if kind == 4 else 1.0)
                out += [1.5, -2.0, fz, 10.0, -10.0, 0.5] if kind != 4 else [0.01, -0.01, fz, 0.1, -0.1, 0.0]
        return out

    unit_scale = scale if kind != 4 else 0.0005
    params = b""

    def group(gid, text):
        nonlocal params
        body = struct.pack("b", len(text)) + struct.pack("b", -gid) + text.encode()
        params += body + i16(3) + b"\x00"

    def parameter(gid, text, code, dims, data):
        nonlocal params
        head = struct.pack("b", len(text)) + struct.pack("b", gid) + text.encode()
        rest = struct.pack("b", code) + bytes([len(dims)]) + bytes(dims) + data + b"\x00"
        params += head + i16(len(rest) + 2) + rest

    frames = N // 2
    group(1, "POINT")
    parameter(1, "USED", 2, [], i16(1))
    parameter(1, "FRAMES", 2, [], i16(frames))
    parameter(1, "SCALE", 4, [], f32(-0.1 if floats else 0.1))
    parameter(1, "RATE", 4, [], f32(100.0))
    parameter(1, "DATA_START", 2, [], i16(6))
    group(2, "ANALOG")
    parameter(2, "USED", 2, [], i16(channels))
    parameter(2, "GEN_SCALE", 4, [], f32(1.0))
    parameter(2, "SCALE", 4, [channels], b"".join(f32(unit_scale if not floats else 1.0) for _ in range(channels)))
    parameter(2, "OFFSET", 2, [channels], b"".join(i16(offset) for _ in range(channels)))
    parameter(2, "RATE", 4, [], f32(float(RATE)))
    unit = b"V   " if kind == 4 else b"N   "
    parameter(2, "UNITS", -1, [4, channels], unit * channels)
    parameter(2, "LABELS", -1, [4, channels], b"".join(f"ch{k:02}".encode() for k in range(channels)))
    group(3, "FORCE_PLATFORM")
    parameter(3, "USED", 2, [], i16(2))
    parameter(3, "TYPE", 2, [2], i16(kind) * 2)
    parameter(3, "CHANNEL", 2, [per_plate, 2], b"".join(i16(k + 1) for k in range(channels)))
    if kind == 4:
        gains = [100.0, 100.0, 250.0, 50.0, 50.0, 50.0]
        one = b"".join(f32(gains[i] if i == j else 0.0) for j in range(6) for i in range(6))
        parameter(3, "CAL_MATRIX", 4, [6, 6, 2], one * 2)
    params = bytes([1, 0x50, 4, processor]) + params + b"\x00\x00"
    assert len(params) <= 4 * 512, len(params)
    params = params.ljust(4 * 512, b"\x00")

    header = bytes([2, 0x50]) + i16(1) + i16(2 * channels) + i16(1) + i16(frames) + i16(10) + f32(-0.1 if floats else 0.1)
    header += i16(6) + i16(2) + f32(100.0)
    data = b""
    for frame in range(frames):
        data += b"".join(f32(x) for x in (1.0, 2.0, 3.0, 0.0)) if floats else b"".join(i16(x) for x in (10, 20, 30, 0))
        for k in (2 * frame, 2 * frame + 1):
            for x in values(k):
                data += f32(x) if floats else i16(round(x / unit_scale) + offset)
    (OUT / name).write_bytes(header.ljust(512, b"\x00") + params + data)


def all_files():
    xlsx()
    ods()
    by_ezc3d()
    c3d("intel-float-type2.c3d", 84, True, 2)
    c3d("intel-integer-type2.c3d", 84, False, 2)
    c3d("dec-float-type2.c3d", 85, True, 2)
    c3d("dec-integer-type3.c3d", 85, False, 3)
    c3d("mips-float-type4.c3d", 86, True, 4)
    c3d("mips-integer-type3.c3d", 86, False, 3)
    lines = ["left_N,right_N"] + [f"{a},{b}" for a, b in zip(LEFT, RIGHT)]
    (OUT / "truth.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    if "--check" in sys.argv:
        kept = {p.name: p.read_bytes() for p in OUT.glob("*type*.c3d")} | {"truth.csv": (OUT / "truth.csv").read_bytes()}
        for args in (("intel-float-type2.c3d", 84, True, 2), ("intel-integer-type2.c3d", 84, False, 2), ("dec-float-type2.c3d", 85, True, 2),
                     ("dec-integer-type3.c3d", 85, False, 3), ("mips-float-type4.c3d", 86, True, 4), ("mips-integer-type3.c3d", 86, False, 3)):
            c3d(*args)
            assert (OUT / args[0]).read_bytes() == kept[args[0]], args[0]
        print("the hand-made files are as kept")
    else:
        OUT.mkdir(parents=True, exist_ok=True)
        all_files()

"""What the Amateur Data Interchange Format knows: its fields, bands, modes and ways of propagation.

    pip install pyadif-file==1.5 xmlschema==4.3.2
    npm pack tcadif@2.4.0 && tar xzf tcadif-2.4.0.tgz
    python tests/reference/make_adif_table.py package/lib/enums/Band.js > tests/reference/adif_names.csv

Names are those of the published schema of version 3.1.4 (adx314.xsd, which pyadif-file carries); the limits
of the bands are those of tcadif's copy of the band enumeration. With an exported log as a second argument it
holds each of its values against the schema as well, and prints on standard error what the schema refuses.
"""

import os
import re
import sys
import xml.etree.ElementTree as ET

import adif_file
import xmlschema
from adif_file import adi

XS = "{http://www.w3.org/2001/XMLSchema}"
path = os.path.join(os.path.dirname(adif_file.__file__), "xsd", "adx314.xsd")
text = open(path, encoding="utf-8-sig").read()
tree = ET.fromstring(text)


def names(kind):
    """The alternatives of an enumeration, whose letters stand as [aA]."""
    pattern = tree.find(f".//{XS}simpleType[@name='{kind}']//{XS}pattern").get("value")
    plain = re.sub(r"\[(\w)\w\]", lambda pair: pair[1].upper(), pattern)
    return [name.replace("\\.", ".") for name in plain.split("|")]


def hertz(megahertz):
    whole, _, part = megahertz.partition(".")
    return int(whole or 0) * 1_000_000 + int(part.ljust(6, "0"))


def fields(parent):
    element = tree.find(f".//{XS}element[@name='{parent}']")
    found = [child.get("name") for child in element.iter(f"{XS}element")]
    return [name for name in found if name not in (None, parent, "APP", "USERDEF")]


script = open(sys.argv[1]).read()
bands = re.findall(r'"([\w.]+)": \{ "lowerFreq": "([\d.]+)", "upperFreq": "([\d.]+)"', script)
schema_bands = names("Band_Enumeration")
assert sorted(name for name, _, _ in bands) == sorted(schema_bands), (bands, schema_bands)

print("# By make_adif_table.py: kind|name, and for a band its lower and upper limit in hertz")
for name in fields("HEADER"):
    print("head", name, sep="|")
for name in fields("RECORD"):
    print("field", name, sep="|")
for name, lower, upper in bands:
    print("band", name, hertz(lower), hertz(upper), sep="|")
for kind, enumeration in [
    ("mode", "Mode_Enumeration"),
    ("propagation", "Propagation_Mode_Enumeration"),
]:
    for name in names(enumeration):
        print(kind, name, sep="|")

if len(sys.argv) > 2:
    schema = xmlschema.XMLSchema(text)
    for record in adi.load(sys.argv[2])["RECORDS"]:
        root = ET.Element("ADX")
        ET.SubElement(root, "HEADER")
        told = ET.SubElement(ET.SubElement(root, "RECORDS"), "RECORD")
        for name, value in record.items():
            own = re.fullmatch(r"APP_([^_]+)_(.+)", name)
            there = {"PROGRAMID": own[1], "FIELDNAME": own[2]} if own else {}
            ET.SubElement(told, "APP" if own else name, there).text = value
        for error in schema.iter_errors(root):
            print(error.path, error.reason, file=sys.stderr)

"""What another program reads in an exported log.

    pip install adif-io==0.6.1
    beamhand contacts export --adif - --log tests/reference/contacts.jsonl --config CONFIG \\
        | python tests/reference/read_adif.py > tests/reference/adif.csv

CONFIG has the demo's satellites, with exchange_name = "GN-1" for GANNET-1.
"""

import sys

import adif_io

records, head = adif_io.read_from_string(sys.stdin.buffer.read().decode())
assert head["ADIF_VER"] == "3.1.4" and head["PROGRAMID"] == "Beamhand"
print("# By read_adif.py: record|field|value; blanks at a value's end, which this reader counts in, are off")
for at, record in enumerate(records):
    for field, value in record.items():
        print(at, field, value.rstrip(" "), sep="|")

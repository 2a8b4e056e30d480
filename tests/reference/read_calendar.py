"""What another program reads in the calendar of passes.

    pip install icalendar==7.3.2
    beamhand passes --config config/demo/beamhand.toml --from 2026-11-25T00:00:00Z --hours 24 \\
        --calendar | python tests/reference/read_calendar.py > tests/reference/calendar.csv
"""

import sys

from icalendar import Calendar

print("# By read_calendar.py: start,end,seconds,uid,summary")
calendar = Calendar.from_ical(sys.stdin.buffer.read())
for event in calendar.walk("VEVENT"):
    assert not event.errors, event.errors
    start, end = event["DTSTART"].dt, event["DTEND"].dt
    assert event["DTSTAMP"].dt.tzinfo is not None and start.utcoffset().total_seconds() == 0
    form = "%Y-%m-%dT%H:%M:%SZ"
    print(start.strftime(form), end.strftime(form), int((end - start).total_seconds()), event["UID"],
          event["SUMMARY"].replace(",", ";"), sep=",")

# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""page_numbers.py PAGE_SAMPLE KIND: every number of the page that names a JSON pointer is the JSON report's number there."""
import json
import re
import subprocess
import sys

run = lambda *more: subprocess.run([*sys.argv[1:], *more], check=True, stdout=subprocess.PIPE).stdout.decode("utf-8")
report, page = json.loads(run("json")), run()
found = re.findall(r'<data data-key="([^"]*)" value="([^"]*)">(.*?)</data>', page)
faults = []
for pointer, value, shown in found:
    here = report
    for part in pointer.split("/")[1:]:
        here = here[int(part)] if isinstance(here, list) else here.get(part) if isinstance(here, dict) else None
    number = float(re.sub("<[^>]*>|over ", "", "0" if shown == "none" else shown).replace("\N{MINUS SIGN}", "-"))
    if here is None or here != float(value):
        faults.append(f"{pointer}: {value} on the page, {here} in the JSON")
    elif min(abs(number - float(value)), abs(number / 100 - float(value))) > 0.5:
        faults.append(f"{pointer}: {value} is shown as {number}")
print("\n".join(faults) or f"{len(found)} numbers agree")
sys.exit(bool(faults) or len(found) < 5)

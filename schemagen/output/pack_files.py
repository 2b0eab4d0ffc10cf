"""The files of a handover set, by their names in its folder; the last is a manifest with the hash of each."""

import json
from hashlib import sha256

from schemagen.output.papers_pdf import papers_pdf
from schemagen.output.schedules_csv import schedule_csv
from schemagen.output.schedules_workbook import schedules_workbook
from schemagen.output.write import encode
from schemagen.papers.pack import Pack
from schemagen.schedules.all_schedules import all_schedules
from schemagen.sheets.findings_text import Checked
from schemagen.sheets.findings_text import as_json as findings_json

MANIFEST = "manifest.json"


def pack_files(pack: Pack) -> dict[str, bytes]:
    """The same list gives the same bytes. Raises CannotDraw if the typesetter is not installed."""
    schedules = all_schedules(pack.dossier)
    checked = Checked(pack.list_name, (), pack.dossier.report, pack.dossier.network)
    files = {"handover.pdf": papers_pdf(pack.papers, pack.title)}
    files |= _drawn(pack, ".svg") | _drawn(pack, ".pdf")
    files["schedules.xlsx"] = schedules_workbook(schedules, pack.title)
    files |= {f"schedules/{schedule.name}.csv": schedule_csv(schedule) for schedule in schedules}
    files["findings.json"] = _json(findings_json(checked))
    files["list.yaml"] = pack.list_text.encode()
    return files | {MANIFEST: _json(_manifest(pack, files))}


def _drawn(pack: Pack, suffix: str) -> dict[str, bytes]:
    encoded = encode(pack.sheets, suffix)
    if len(encoded) == 1:
        return {f"schematic{suffix}": encoded[0]}
    return {f"schematic-{n}{suffix}": data for n, data in enumerate(encoded, 1)}


def _manifest(pack: Pack, files: dict[str, bytes]) -> dict:
    return {
        "program": "schemagen",
        "version": pack.version,
        "list": pack.list_name,
        "list_sha256": pack.list_hash,
        "documents": [{"number": paper.number, "title": paper.title} for paper in pack.papers],
        "files": [
            {"name": name, "bytes": len(data), "sha256": sha256(data).hexdigest()} for name, data in files.items()
        ],
    }


def _json(document: object) -> bytes:
    return (json.dumps(document, ensure_ascii=False, indent=2) + "\n").encode()

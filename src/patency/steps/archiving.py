"""Puts judged cycles into an archive, each once, with the raw record bit for bit."""

from __future__ import annotations

import hashlib
import json
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from patency.errors import InputError, InputErrors
from patency.evidence import (
    SteamAgainst,
    SteamEvidence,
    axis_kept,
    evidence_document,
    judge_to_keep,
    outlines_as_text,
    outlines_of_tests,
    read_columns,
    read_description,
    read_record,
    stages_as_text,
    steam_document,
    words_as_numbers,
)
from patency.steps.archive_parts import (
    MOST_SAMPLES,
    CycleKept,
    SamplesKept,
    judging_version,
    known_cycles,
    write_part,
)
from patency.steps.files import as_text, read_bytes
from patency.steps.interlocking import asked_of_tests
from patency.steps.parquet_files import PARQUET_SUFFIX, read_parquet_columns
from patency.steps.steam_judging import begun

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

    from patency.evidence import CycleAgainst, CycleRecord, Evidence
    from patency.steps.interlocking import RelyingOn

_NO_SITE = "no site"
_NO_MACHINE = "no machine named"


@dataclass(frozen=True, slots=True)
class RawRecord:
    """A record's file as it came.

    Parameters
    ----------
    name
        What it is called.
    content
        Its bytes.
    """

    name: str
    content: bytes

    @property
    def sha256(self) -> str:
        """Digest of the bytes, in hexadecimal."""
        return hashlib.sha256(self.content).hexdigest()

    def read(self, description: str, description_name: str) -> CycleRecord:
        """Read the record by a description.

        Parameters
        ----------
        description
            The description's text.
        description_name
            What it is called in messages.

        Returns
        -------
        CycleRecord
            The record.
        """
        described = read_description(description, description_name)
        if not self.name.lower().endswith(PARQUET_SUFFIX):
            return read_record(as_text(self.content, self.name), described, self.name)
        with tempfile.TemporaryDirectory() as folder:
            beside = Path(folder) / f"record{PARQUET_SUFFIX}"
            beside.write_bytes(self.content)
            try:
                columns = read_parquet_columns(beside)
            except InputError as fault:
                raise InputError(self.name, fault.what, fault.expected) from fault
        return read_columns(columns, described, self.sha256, self.name)


def raw_record(path: Path) -> RawRecord:
    """Take a record's file as it is.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    RawRecord
        Its bytes.
    """
    return RawRecord(path.name, read_bytes(path))


@dataclass(frozen=True, slots=True)
class Belonging:
    """Where a cycle belongs, beside what its record says.

    Parameters
    ----------
    site
        The site; None where none was given.
    description
        Text of the record's description.
    description_name
        What it is called in messages.
    """

    site: str | None
    description: str
    description_name: str


@dataclass(slots=True)
class Adding:
    """Cycles on their way into an archive: each record once, written in parts.

    Parameters
    ----------
    archive
        The archive's folder; made where it does not exist.
    known
        The digests of the records it holds; read from it when left out.
    """

    archive: Path
    known: set[str] = field(default_factory=set)
    _pending: dict[Any, list[tuple[CycleKept, SamplesKept]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Ask the archive what it holds."""
        self.known = self.known or set(known_cycles(self.archive))

    def add(
        self,
        raw: RawRecord,
        belonging: Belonging,
        against: CycleAgainst | SteamAgainst,
        interlock: RelyingOn | None = None,
    ) -> Evidence | SteamEvidence | None:
        """Judge a record and take it in; it lies in the archive once `finish` has ended.

        Parameters
        ----------
        raw
            The record.
        belonging
            Where it belongs.
        against
            What it is judged against.
        interlock
            The calendar of tests; None leaves open whether they are in date.

        Returns
        -------
        Evidence, SteamEvidence or None
            The evidence; None where the archive holds the record already, and then nothing is changed.
        """
        if raw.sha256 in self.known:
            return None
        record = raw.read(belonging.description, belonging.description_name)
        cycle, samples, evidence = _kept(record, raw, belonging, against, interlock)
        waiting = self._pending.setdefault((cycle.folder, samples.layout), [])
        if sum(one.samples for one, _ in waiting) + cycle.samples > MOST_SAMPLES and waiting:
            write_part(self.archive, waiting)
            waiting.clear()
        waiting.append((cycle, samples))
        self.known.add(raw.sha256)
        return evidence

    def finish(self) -> None:
        """Write what is still on its way."""
        for waiting in self._pending.values():
            if waiting:
                write_part(self.archive, waiting)
        self._pending.clear()


@dataclass(frozen=True, slots=True)
class KeptRecord:
    """What became of one record.

    Parameters
    ----------
    name, sha256
        The record.
    verdict
        Its verdict; empty where the archive held it already.
    """

    name: str
    sha256: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Added:
    """What came of adding records.

    Parameters
    ----------
    kept
        The records that lie in the archive.
    refused
        Why others do not, one line each.
    """

    kept: tuple[KeptRecord, ...]
    refused: tuple[str, ...]


def add_to_archive(
    archive: Path,
    records: Iterable[Path],
    site: str | None,
    description: tuple[str, str],
    against: CycleAgainst | SteamAgainst,
    interlock: RelyingOn | None = None,
) -> Added:
    """Judge records and keep them; one that cannot be used is told, and the others are kept.

    Parameters
    ----------
    archive
        The archive's folder; made where it does not exist.
    records
        The records' files.
    site
        The site; None where none was given.
    description
        Text of their description, and what it is called in messages.
    against
        What they are judged against; of several records of a sterilizer what was entered for one cycle does not count.
    interlock
        The calendar of tests; None leaves open whether they are in date.

    Returns
    -------
    Added
        What became of each.
    """
    adding, kept, refused, records = Adding(archive), [], [], tuple(records)
    if isinstance(against, SteamAgainst) and against.entered is not None and len(records) > 1:
        against = against.model_copy(update={"entered": against.entered.of_no_one_cycle()})
    for path in records:
        try:
            raw = raw_record(path)
            evidence = adding.add(raw, Belonging(site, *description), against, interlock)
        except InputErrors as error:
            refused += [fault.line for fault in error.faults]
        except InputError as error:
            refused.append(error.line)
        else:
            kept.append(KeptRecord(raw.name, raw.sha256, evidence.verdict.value if evidence else ""))
    adding.finish()
    return Added(tuple(kept), tuple(refused))


def _kept(
    record: CycleRecord,
    raw: RawRecord,
    belonging: Belonging,
    against: CycleAgainst | SteamAgainst,
    interlock: RelyingOn | None,
) -> tuple[CycleKept, SamplesKept, Evidence | SteamEvidence]:
    if isinstance(against, SteamAgainst):
        against = begun(against, record)
    evidence, found, outline = judge_to_keep(record, against)
    evidence = asked_of_tests(evidence, against, interlock)
    outline = (*outline, *outlines_of_tests(evidence.criteria[len(outline) :]))
    day = (record.started.date() if record.started else against.on).isoformat()
    cycle = CycleKept(
        sha256=raw.sha256,
        name=raw.name,
        record=raw.content,
        description=belonging.description,
        site=belonging.site or _NO_SITE,
        machine=record.description.machine or _NO_MACHINE,
        month=day[:7],
        day=day,
        samples=record.time_s.size,
        axis=axis_kept(record).as_text(),
        stages="" if found is None else stages_as_text(found),
        against=json.dumps(against.texts(), ensure_ascii=False),
        outline=outlines_as_text(outline),
        verdict=evidence.verdict.value,
        evidence=json.dumps(document_of(evidence), ensure_ascii=False),
        version=judging_version(),
    )
    return cycle, samples_kept(record), evidence


def document_of(evidence: Evidence | SteamEvidence) -> dict[str, Any]:
    """Return the evidence of either kind of machine as plain values for JSON.

    Parameters
    ----------
    evidence
        The evidence.

    Returns
    -------
    dict
        As `evidence_document` and `steam_document`.
    """
    return steam_document(evidence) if isinstance(evidence, SteamEvidence) else evidence_document(evidence)


def samples_kept(record: CycleRecord) -> SamplesKept:
    """Take the samples of a record as they are kept.

    Parameters
    ----------
    record
        The record.

    Returns
    -------
    SamplesKept
        Its samples.
    """
    values = {name: trace.values for name, trace in record.traces.items()}
    return SamplesKept(record.time_s, words_as_numbers(record), values)

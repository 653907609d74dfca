"""The handover as COBie sheets in CSV, for clients who keep their building so.

One type for the carpet and one for every lot, one component for the carpet of
each room; batches, rolls and readings, for which there is no column, are
attributes.  What is not known is `n/a`.

References
----------
.. [1] Column names as an open mapping of COBie 2.4 has them; the standard
   itself was not seen.  To be verified before conformity is claimed.
.. [2] Cells that a spreadsheet would take for a formula are led by an
   apostrophe: CWE-1236, OWASP ASVS 1.2.10.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.checks.geometry import area_m2
from diagnose.checks.words import moment, num
from diagnose.record.model import Area, Job, Lot
from diagnose.text import clean

UNKNOWN = "n/a"
SYSTEM = "carpet-diagnose"
CATEGORY = "floor covering"
COLUMNS: Mapping[str, tuple[str, ...]] = {
    "Facility": (
        "Name", "CreatedBy", "CreatedOn", "Category", "ProjectName", "SiteName", "LinearUnits",
        "AreaUnits", "VolumeUnits", "CurrencyUnit", "AreaMeasurement", "ExternalSystem",
        "ExternalProjectObject", "ExternalProjectIdentifier", "ExternalSiteObject",
        "ExternalSiteIdentifier", "ExternalFacilityObject", "ExternalFacilityIdentifier",
        "Description", "ProjectDescription", "SiteDescription", "Phase",
    ),
    "Floor": (
        "Name", "CreatedBy", "CreatedOn", "Category", "ExternalSystem", "ExternalObject",
        "ExternalIdentifier", "Description", "Elevation", "Height",
    ),
    "Space": (
        "Name", "CreatedBy", "CreatedOn", "Category", "FloorName", "Description", "ExternalSystem",
        "ExternalObject", "ExternalIdentifier", "RoomTag", "UsableHeight", "GrossArea", "NetArea",
    ),
    "Type": (
        "Name", "CreatedBy", "CreatedOn", "Category", "Description", "AssetType", "Manufacturer",
        "ModelNumber", "WarrantyGuarantorParts", "WarrantyDurationParts", "WarrantyGuarantorLabor",
        "WarrantyDurationLabor", "WarrantyDurationUnit", "ExternalSystem", "ExternalObject",
        "ExternalIdentifier", "ReplacementCost", "ExpectedLife", "DurationUnit",
        "WarrantyDescription", "NominalLength", "NominalWidth", "NominalHeight", "ModelReference",
        "Shape", "Size", "Color", "Finish", "Grade", "Material", "Constituents", "Features",
        "AccessibilityPerformance", "CodePerformance", "SustainabilityPerformance",
    ),
    "Component": (
        "Name", "CreatedBy", "CreatedOn", "TypeName", "Space", "Description", "ExternalSystem",
        "ExternalObject", "ExternalIdentifier", "SerialNumber", "InstallationDate",
        "WarrantyStartDate", "TagNumber", "BarCode", "AssetIdentifier",
    ),
    "Attribute": (
        "Name", "CreatedBy", "CreatedOn", "Category", "SheetName", "RowName", "Value", "Unit",
        "ExternalSystem", "ExternalObject", "ExternalIdentifier", "Description", "AllowedValues",
    ),
}  # fmt: skip
Row = Mapping[str, str | float | None]


def cobie_sheets(job: Job, *, made_at: str, made_by: str) -> dict[str, str]:
    """Return every sheet as CSV text, by its name without an ending."""
    made = _Made(job, made_at, made_by)
    rows = {
        "Facility": [made.facility()],
        "Floor": [made.row(Name=job.site.storey, Category="storey")],
        "Space": [made.space(area) for area in job.areas.values()],
        "Type": [made.carpet_type(), *(made.lot_type(lot) for lot in job.lots.values())],
        "Component": [made.component(area) for area in job.areas.values()],
        "Attribute": [row for area in job.areas.values() for row in made.attributes(area)],
    }
    return {name: _csv(COLUMNS[name], rows[name]) for name in COLUMNS}


@dataclass(frozen=True, slots=True)
class _Made:
    job: Job
    at: str
    by: str

    def row(self, **cells: str | float | None) -> Row:
        return {"CreatedBy": self.by, "CreatedOn": self.at, "ExternalSystem": SYSTEM} | cells

    def facility(self) -> Row:
        site = self.job.site
        return self.row(
            Name=site.name or self.job.title,
            Category=site.building,
            ProjectName=self.job.title,
            SiteName=site.name,
            LinearUnits="millimetres",
            AreaUnits="square metres",
            ExternalProjectIdentifier=self.job.id,
            Phase="handover",
        )

    def space(self, area: Area) -> Row:
        size = area_m2(area.outline_m) if len(area.outline_m) >= 3 else area.area_m2
        return self.row(
            Name=area.id,
            Category=area.use,
            FloorName=self.job.site.storey,
            Description=area.name,
            NetArea=None if size is None else round(size, 2),
        )

    def carpet_type(self) -> Row:
        product = self.job.product
        made = (product.pile, product.construction, product.backing)
        return self.row(
            Name=_type_name(self.job),
            Category=CATEGORY,
            Description=", ".join(word for word in made if word) or None,
            AssetType="Fixed",
            ModelReference=product.data_sheet,
            NominalWidth=product.width_mm,
            NominalHeight=product.thickness_mm,
            Material=product.fibre,
            Grade=product.use_class,
        )

    def lot_type(self, lot: Lot) -> Row:
        return self.row(
            Name=f"{lot.kind or 'lot'} {lot.id}",
            Category=lot.kind,
            Description=lot.name,
            AssetType="Fixed",
            ModelReference=lot.data_sheet,
        )

    def component(self, area: Area) -> Row:
        end = self.job.dates.finished_at
        return self.row(
            Name=_component_name(area),
            TypeName=_type_name(self.job),
            Space=area.id,
            Description=area.name,
            InstallationDate=end.date().isoformat() if end else None,
        )

    def attributes(self, area: Area) -> Iterable[Row]:
        job = self.job
        for drop in job.drops.values():
            if drop.area == area.id:
                roll = job.rolls.get(drop.roll or "")
                yield self.attribute(area, f"Drop {drop.id} roll", drop.roll)
                yield self.attribute(area, f"Drop {drop.id} batch", roll.batch if roll else None)
        for spread in job.spreads.values():
            lot = job.lots.get(spread.lot or "")
            if spread.area == area.id:
                yield self.attribute(area, f"Spread {spread.id} lot", lot.batch if lot else None)
        for reading in job.readings.values():
            if reading.area == area.id:
                name = f"Reading {reading.id} {reading.kind}"
                taken = moment(reading.taken_at) if reading.taken_at else None
                yield self.attribute(area, name, reading.value, reading.unit, taken)

    def attribute(
        self,
        area: Area,
        name: str,
        value: str | float | None,
        unit: str | None = None,
        note: str | None = None,
    ) -> Row:
        return self.row(
            Name=name,
            Category="as built",
            SheetName="Component",
            RowName=_component_name(area),
            Value=value,
            Unit=unit,
            Description=note,
        )


def _type_name(job: Job) -> str:
    return job.product.name or "carpet"


def _component_name(area: Area) -> str:
    return f"carpet in {area.id}"


def _csv(columns: Sequence[str], rows: Iterable[Row]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(row.get(column)) for column in columns])
    return out.getvalue()


def _cell(value: str | float | None) -> str:
    """Return a cell; only text can look like a formula, so only text is led by a mark."""
    if value is None or value == "":
        return UNKNOWN
    if not isinstance(value, str):
        return num(value, places=3)
    text = " ".join(clean(value).split())
    return f"'{text}" if text[:1] in ("=", "+", "-", "@") else text

"""The install record of one job as typed values.

Every field that a person may not have recorded is None or empty: silence is
kept as silence.  Units stand in the names; times carry their offset.  Ids
(`S2`, `SP1`, `day-room`) are the person's own and unique within their kind.
Where each value came from is in `Job.origins`, by path such as
`spreads.SP1.laid_at`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from diagnose.model import EntryRef

Point = tuple[float, float]
"""x and y in metres on the plan of the area."""
Line = tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A limit that the job's own data sheet sets; `unit` as in the limit's rule."""

    low: float | None = None
    high: float | None = None
    unit: str = ""
    source: str = ""
    """Data sheet and its date, as written on the sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    name: str | None = None
    building: str | None = None
    """care-home, clinic, school, office, ..."""
    built_year: int | None = None
    storey: str | None = None
    asbestos_survey: str | None = None
    """none, clear, found, not-known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contract:
    client: str | None = None
    codes: tuple[str, ...] = ()
    """Codes that the contract names, such as `cri-104-2015`, `bs-5325-2001`."""
    ordered: str | None = None
    ordered_on: date | None = None
    seam_plan_agreed_on: date | None = None
    approved_sample: str | None = None
    """Sample that the goods were approved by: its number, or where it is kept."""
    notice_given_at: datetime | None = None
    objection: str | None = None
    """Written objection of the fitter, in its own words."""
    chosen_by: str | None = None
    use_class: str | None = None
    expected_use: str | None = None
    castor_chairs: bool | None = None
    rolling_loads: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    name: str | None = None
    method: str | None = None
    pile: str | None = None
    construction: str | None = None
    backing: str | None = None
    fibre: str | None = None
    pile_mass_g_m2: float | None = None
    total_mass_g_m2: float | None = None
    thickness_mm: float | None = None
    width_mm: float | None = None
    repeat_length_mm: float | None = None
    repeat_width_mm: float | None = None
    use_class: str | None = None
    castor_rated: bool | None = None
    light_fastness: float | None = None
    light_reflectance_percent: float | None = None
    thermal_resistance_m2k_w: float | None = None
    dimensional_change_percent: float | None = None
    """Of the laboratory test on the data sheet; growth positive."""
    tile_side_mm: float | None = None
    tile_layouts: tuple[str, ...] = ()
    methods_allowed: tuple[str, ...] = ()
    batch_rule: str | None = None
    data_sheet: str | None = None
    limits: Mapping[str, Range] = field(default_factory=dict)
    """Data-sheet limits by limit id; they override general ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dates:
    started_at: datetime | None = None
    finished_at: datetime | None = None
    handed_over_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    id: str
    line_m: Line = ()
    leaf_centre_m: Point | None = None
    kept_closed: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    id: str
    line_m: Line = ()
    faces: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Subfloor:
    kind: str | None = None
    """A value of the subfloor facet."""
    thickness_mm: float | None = None
    age_days: float | None = None
    """Age of screed or slab on the first day of laying."""
    dries_from: str | None = None
    """one-face, two-faces."""
    damp_proof_membrane: str | None = None
    """yes, no, surface, not-known."""
    old_adhesive: str | None = None
    """none, removed, left, black-bituminous, not-known."""
    removal: str | None = None
    """mechanical, chemical, none."""
    smoothing: str | None = None
    smoothing_mm: float | None = None
    smoothing_dried_h: float | None = None
    smoothing_low_alkali: bool | None = None
    primer: str | None = None
    cleaned: str | None = None
    """vacuumed, swept, sweeping-compound, not-cleaned."""
    scratch_sound: bool | None = None
    gaps_sealed: bool | None = None
    moving_joint: bool | None = None
    treated_timber: bool | None = None
    painted: bool | None = None
    painted_abraded: bool | None = None
    bond_test: bool | None = None
    board_gap_mm: float | None = None
    overlay_fixing_grid_mm: float | None = None
    overlay_fixing_edge_mm: float | None = None
    asphalt_age_days: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Heating:
    kind: str | None = None
    """none, underfloor."""
    surface_max_c: float | None = None
    bond_line_max_c: float | None = None
    off_from: datetime | None = None
    on_again_from: datetime | None = None
    ramp_c_per_day: float | None = None
    carpet_approved: bool | None = None
    services_located: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    id: str
    name: str | None = None
    use: str | None = None
    outline_m: Line = ()
    area_m2: float | None = None
    """As stated; where an outline is given, the outline decides."""
    doors: tuple[Door, ...] = ()
    windows: tuple[Window, ...] = ()
    traffic_m: Line = ()
    pivots_m: tuple[Point, ...] = ()
    expansion_joints_m: tuple[Line, ...] = ()
    panel_joints_m: tuple[Line, ...] = ()
    subfloor: Subfloor | None = None
    heating: Heating | None = None
    room_emptied: bool | None = None
    weathertight: bool | None = None
    wet_trades_finished: bool | None = None
    painting_finished: bool | None = None
    overhead_work_finished: bool | None = None
    ventilation_running: bool | None = None
    next_floor_light_reflectance_percent: float | None = None
    climate: str | None = None
    """Id of the climate log that belongs to the area."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A measured value with instrument, place and time."""

    id: str
    kind: str
    """air-temperature, air-humidity, floor-temperature, moisture-humidity,
    moisture-carbide, moisture-emission, moisture-hand-meter, timber-moisture,
    surface-ph, porosity-drop, flatness-gap, step, colour, pile-height,
    pull, gap, other."""
    value: float | None = None
    unit: str | None = None
    method: str | None = None
    """For moisture-humidity: surface-hygrometer, in-slab-probe, sleeve, insulated-hood."""
    area: str | None = None
    at_part: str | None = None
    """Part of the record it belongs to, such as `seam:S2`."""
    point_m: Point | None = None
    position: str | None = None
    """corner, edge, field."""
    taken_at: datetime | None = None
    placed_at: datetime | None = None
    """When box, probe or dish was set."""
    instrument: str | None = None
    calibrated_on: date | None = None
    depth_mm: float | None = None
    slab_mm: float | None = None
    mass_start_g: float | None = None
    mass_end_g: float | None = None
    dome_area_ft2: float | None = None
    straightedge_m: float | None = None
    lab: tuple[float, float, float] | None = None
    """CIELAB L*, a*, b* for kind `colour`."""
    edition: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateDay:
    """Summary of one day of a log, so that the file itself can stay outside."""

    day: date
    samples: int
    hours_covered: float
    air_low_c: float | None = None
    air_mean_c: float | None = None
    air_high_c: float | None = None
    humidity_low_percent: float | None = None
    humidity_mean_percent: float | None = None
    humidity_high_percent: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimatePoint:
    at: datetime
    air_c: float | None = None
    humidity_percent: float | None = None
    floor_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateLog:
    id: str
    file_name: str | None = None
    file_sha256: str | None = None
    zone: str | None = None
    interval_min: float | None = None
    points: tuple[ClimatePoint, ...] = ()
    """Points thinned to at most one every 15 min, in order of time."""
    days: tuple[ClimateDay, ...] = ()
    gaps: tuple[tuple[datetime, datetime], ...] = ()
    dropped_rows: int = 0
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    id: str
    batch: str | None = None
    roll_number: int | None = None
    order_in_dyeing: int | None = None
    width_mm: float | None = None
    length_m: float | None = None
    mass_kg: float | None = None
    inspected: bool | None = None
    fault_seen: str | None = None
    label_photo: bool | None = None
    stored_where: str | None = None
    stored_flat: bool | None = None
    stored_c: float | None = None
    stack_height: int | None = None
    carried_by_people: int | None = None
    bow_mm: float | None = None
    skew_mm: float | None = None
    elongation_mm: float | None = None
    repeat_found_mm: float | None = None
    edge_trueness_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One lot of adhesive, sealer, tape, underlay, primer or smoothing."""

    id: str
    kind: str | None = None
    """adhesive, sealer, tape, underlay, primer, smoothing."""
    name: str | None = None
    type: str | None = None
    """acrylic, tackifier, contact, double-stick, ... as on the sheet."""
    for_backings: tuple[str, ...] = ()
    batch: str | None = None
    expires_on: date | None = None
    stored_where: str | None = None
    stored_from: datetime | None = None
    stored_low_c: float | None = None
    frozen: bool | None = None
    opened_on: date | None = None
    container_litres: float | None = None
    containers_used: float | None = None
    tape_width_mm: float | None = None
    underlay_mm: float | None = None
    underlay_kg_m3: float | None = None
    data_sheet: str | None = None
    solvent: bool | None = None
    limits: Mapping[str, Range] = field(default_factory=dict)
    """Data-sheet limits by limit id: open time, spread, notch, roller, ..."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditioning:
    id: str
    what: str | None = None
    """roll:R1, lot:A1, underlay, tiles."""
    where: str | None = None
    """Area id, or van, store, yard."""
    unrolled: bool | None = None
    from_at: datetime | None = None
    to_at: datetime | None = None
    before_c: float | None = None
    """Temperature of carriage or store just before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DropEdge:
    side: str
    """left or right, seen along the pile direction."""
    cut: str | None = None
    """thread-drawn, row-parted, row-followed, straightedge-on-face,
    from-the-back, double-cut, factory-edge."""
    trimmed_mm: float | None = None
    blade_changed: bool | None = None
    tested_on_scrap: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """One laid length of carpet, or one field of tiles."""

    id: str
    area: str | None = None
    roll: str | None = None
    metre_from: float | None = None
    metre_to: float | None = None
    outline_m: Line = ()
    pile_direction_deg: float | None = None
    """0 along +x, counted anticlockwise on the plan."""
    cut_length_mm: float | None = None
    needed_length_mm: float | None = None
    edges: tuple[DropEdge, ...] = ()
    dry_fitted: bool | None = None
    tile_layout: str | None = None
    tile_ten_mm: float | None = None
    """Length of ten tiles in a row as laid."""
    tile_edge_fraction: float | None = None
    stretch_tool: str | None = None
    """power-stretcher, knee-kicker, none."""
    length_before_mm: float | None = None
    length_after_mm: float | None = None
    width_before_mm: float | None = None
    width_after_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """One application of adhesive and the laying into it."""

    id: str
    area: str | None = None
    drops: tuple[str, ...] = ()
    lot: str | None = None
    layer: str | None = None
    """floor, cushion (for double-stick)."""
    notch: str | None = None
    notch_width_mm: float | None = None
    notch_depth_mm: float | None = None
    notch_gap_mm: float | None = None
    notch_shape: str | None = None
    """v, square, u."""
    blade_new: bool | None = None
    blade_area_m2: float | None = None
    """Area spread with this blade before and with this spread."""
    started_at: datetime | None = None
    ended_at: datetime | None = None
    laid_at: datetime | None = None
    laid_end_at: datetime | None = None
    tack: str | None = None
    """wet, tacky, dry."""
    base: str | None = None
    """porous, closed, mixed."""
    air_c: float | None = None
    humidity_percent: float | None = None
    floor_c: float | None = None
    fan_used: bool | None = None
    area_m2: float | None = None
    mass_used_kg: float | None = None
    volume_used_l: float | None = None
    fold_line_met_wet: bool | None = None
    rolled_at: datetime | None = None
    roller_kg: float | None = None
    rolled_along: bool | None = None
    rolled_across: bool | None = None
    edges_hand_rolled: bool | None = None
    rerolled_at: datetime | None = None
    transfer_back_percent: float | None = None
    transfer_floor_percent: float | None = None
    lifted_corner_photo: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """Two drops' edges meeting."""

    id: str
    area: str | None = None
    drops: tuple[str, ...] = ()
    line_m: Line = ()
    kind: str | None = None
    """side, cross, doorway."""
    made_by: str | None = None
    """stuck, taped, sewn."""
    edges_sealed: int | None = None
    """0, 1 or 2 cut edges sealed."""
    sealer_lot: str | None = None
    sealer_used_ml: float | None = None
    bead_mm: float | None = None
    bead_at: datetime | None = None
    closed_at: datetime | None = None
    forced: bool | None = None
    surplus_mm: float | None = None
    """Width by which the two edges were too full together."""
    roller: str | None = None
    """smooth, spiked, none."""
    face_checked: bool | None = None
    face_clean: bool | None = None
    pile_freed: bool | None = None
    photo: bool | None = None
    seen_both_ends: bool | None = None
    tape_lot: str | None = None
    iron_setting: str | None = None
    heat_shield: bool | None = None
    weights_until: datetime | None = None
    loaded_at: datetime | None = None
    underlay_joint_offset_mm: float | None = None
    underlay_joint_taped: bool | None = None
    offset_mm: float | None = None
    """Pattern offset found when closing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A stretch of perimeter, a doorway or another free edge."""

    id: str
    area: str | None = None
    kind: str | None = None
    """wall, doorway, column, step."""
    door: str | None = None
    line_m: Line = ()
    adhesive_to_edge: bool | None = None
    trimmed_while_open: bool | None = None
    lifted_after_set: bool | None = None
    tucked: bool | None = None
    sealed: bool | None = None
    hand_rolled: bool | None = None
    profile: str | None = None
    """none, cover-strip, ramp, butt."""
    gap_mm: float | None = None
    gully_mm: float | None = None
    gripper_width_mm: float | None = None
    gripper_rows: int | None = None
    gripper_fixings_per_piece: int | None = None
    gripper_stuck: bool | None = None
    span_m: float | None = None
    step_mm: float | None = None
    """Height of the neighbouring floor above the carpet."""
    joint_offset_mm: float | None = None
    """Distance of a doorway joint from the centre line of the door leaf."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Completion:
    walked_over: bool | None = None
    self_check_by: str | None = None
    photos: int | None = None
    protection: str | None = None
    """none, breathable-paper, board, plastic-sheet, adhesive-film."""
    first_traffic_at: datetime | None = None
    furniture_at: datetime | None = None
    heating_on: bool | None = None
    handed_to: str | None = None
    care_advice_given: bool | None = None
    traffic_hours_told: bool | None = None
    shading_explained: bool | None = None
    seams_explained: bool | None = None
    batch_list_given: bool | None = None
    offcut_kept: bool | None = None
    offcut_labelled: bool | None = None
    spare_m2: float | None = None
    moisture_report: bool | None = None
    safety_data_sheets: bool | None = None
    warm_limit_told: bool | None = None
    last_trade: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Later:
    """Something that happened after handover."""

    id: str
    kind: str
    """cleaning, leak, heating-off, heating-change, furniture-moved, spill,
    inspection, repair, works, other."""
    at: datetime | None = None
    area: str | None = None
    method: str | None = None
    litres: float | None = None
    dried_h: float | None = None
    ph: float | None = None
    rinsed: bool | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    id: str
    made_at: datetime | None = None
    symptoms: tuple[str, ...] = ()
    at: str | None = None
    """Place, such as `seam:S2`."""
    first_seen_on: date | None = None
    words: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    id: str
    of: str | None = None
    """Part of the record, such as `seam:S2`."""
    taken_at: datetime | None = None
    sha256: str | None = None
    alt: str | None = None
    shows: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One contract at one site, with everything that was recorded of it."""

    id: str
    title: str | None = None
    invented: bool = False
    """True for worked examples; every output then says so."""
    zone: str | None = None
    """Name of the time zone of the site."""
    method: str | None = None
    people: Mapping[str, str] = field(default_factory=dict)
    """Initials to role."""
    site: Site = field(default_factory=Site)
    contract: Contract = field(default_factory=Contract)
    product: Product = field(default_factory=Product)
    dates: Dates = field(default_factory=Dates)
    completion: Completion = field(default_factory=Completion)
    areas: Mapping[str, Area] = field(default_factory=dict)
    rolls: Mapping[str, Roll] = field(default_factory=dict)
    lots: Mapping[str, Lot] = field(default_factory=dict)
    conditioning: Mapping[str, Conditioning] = field(default_factory=dict)
    drops: Mapping[str, Drop] = field(default_factory=dict)
    spreads: Mapping[str, Spread] = field(default_factory=dict)
    seams: Mapping[str, Seam] = field(default_factory=dict)
    edges: Mapping[str, Edge] = field(default_factory=dict)
    readings: Mapping[str, Reading] = field(default_factory=dict)
    climate: Mapping[str, ClimateLog] = field(default_factory=dict)
    later: Mapping[str, Later] = field(default_factory=dict)
    complaints: Mapping[str, Complaint] = field(default_factory=dict)
    photos: Mapping[str, Photo] = field(default_factory=dict)
    origins: Mapping[str, EntryRef] = field(default_factory=dict)
    """Path of a recorded value to the entry that set it last."""

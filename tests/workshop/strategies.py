"""Any record: every key with any value it may have, and keys and tables of a person's own."""

import datetime as dt
from typing import Any

from hypothesis import strategies as st

from halfroll.core.conditions import Space
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import (
    AudioTable,
    ChangeTable,
    CurrentTable,
    DriverRecord,
    FiguresTable,
    MicrophoneTable,
    PublishedTable,
    RigRecord,
    SweepTable,
    TakeRecord,
    UnitRecord,
    VersionRecord,
    VoltageTable,
    WorkshopRecord,
)
from halfroll.workshop.material_record import (
    ConductorTable,
    FilamentTable,
    MagnetTable,
    MaterialRecord,
    SteelTable,
    WireTable,
)
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.rig_record import EarlierTable

text = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
words = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30)
dates = st.dates(min_value=dt.date(1900, 1, 1))
offsets = st.integers(-14 * 60, 14 * 60).map(lambda minutes: dt.timezone(dt.timedelta(minutes=minutes)))
moments = st.datetimes(dt.datetime(1970, 1, 2), dt.datetime(2200, 1, 1), timezones=st.none() | offsets)
decibels = st.floats(0, 20)


def positive(largest: float) -> st.SearchStrategy[float]:
    """Numbers above 0, also tiny and whole ones."""
    return st.floats(0, largest, exclude_min=True) | st.integers(1, int(largest)).map(float)


def maybe(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """The values, or nothing."""
    return st.none() | values


def own(tables: bool = True) -> st.SearchStrategy[dict[str, Any]]:
    """Keys halfroll does not know, with every type TOML has."""
    value = (
        text | st.booleans() | st.integers(-(2**62), 2**62) | st.floats(allow_nan=False) | dates | moments
        | st.times() | st.lists(st.integers(0, 9), max_size=3)
    )  # fmt: skip
    inner = st.dictionaries(words, value, max_size=3)
    values = value | inner | st.lists(inner, min_size=1, max_size=2) if tables else value
    return st.dictionaries(words.map(lambda key: f"own_{key}"), values, max_size=3)


def record(model: Any, **fields: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """A whole record with keys of a person's own."""
    return st.builds(lambda own_keys, **values: model(**values, **own_keys), own(), **fields)


def table(model: Any, **fields: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """A table with keys of a person's own."""
    return st.builds(lambda own_keys, **values: model(**values, **own_keys), own(tables=False), **fields)


bands = st.tuples(positive(1e4), positive(1e4)).map(lambda pair: (min(pair), max(pair) + 1))
figures = table(
    FiguresTable,
    sensitivity_band_hz=bands,
    distortion_band_hz=bands,
    limit_rule=st.sampled_from(["effective", "minus_10", "minus_6", "minus_3"]),
    thd_reference=st.sampled_from(["total", "fundamental"]),
    level_w=positive(100),
    level_tolerance_db=positive(6),
)
changes = table(ChangeTable, what=words, before=text, after=text, why=text)
published = table(
    PublishedTable,
    source=words,
    figures=st.dictionaries(
        st.sampled_from(["sensitivity_db", "sensitivity_db_u", "lower_limit_hz"]), st.floats(-1e6, 1e6)
    ),
    curve=st.none() | st.just("response.csv"),
    distance_m=maybe(positive(100)),
    drive_v=maybe(positive(1000)),
    space=maybe(st.sampled_from(Space)),
)
sweeps = st.builds(
    Sweep,
    start_hz=st.floats(1, 100),
    stop_hz=st.floats(200, 4000),
    duration_s=st.floats(0.1, 120),
    rate_hz=st.integers(8000, 768_000),
    level=st.floats(0, 1, exclude_min=True),
    fade_in_s=st.floats(0, 0.05),
    fade_out_s=st.floats(0, 0.05),
    silence_before_s=st.floats(0, 60),
    silence_after_s=st.floats(0, 60),
)
hashes = st.text("0123456789abcdef", min_size=64, max_size=64)
audio = st.permutations(list(Role)).flatmap(
    lambda roles: st.tuples(
        table(AudioTable, file=st.just("a.wav"), sha256=hashes, roles=st.just(tuple(roles[:2]))),
        table(AudioTable, file=st.just("b.flac"), sha256=hashes, roles=st.just(tuple(roles[2:]))),
    )
)

microphones = table(
    MicrophoneTable,
    pa_per_full_scale=positive(1e6),
    u_db=decibels,
    date=maybe(dates),
    valid_days=st.integers(1, 36_500),
    method=text,
    calibrator_db=maybe(st.floats(70, 140)),
)

lengths = st.floats(0.05, 1000)
shapes = st.one_of(
    st.just({}),
    words.map(lambda key: {"catalogue": key}),
    st.tuples(lengths, lengths).map(lambda p: {"shape": "disc", "outer_mm": p[0], "height_mm": p[1]}),
    st.tuples(st.floats(0.05, 10), st.floats(11, 1000), lengths).map(
        lambda p: {"shape": "ring", "inner_mm": p[0], "outer_mm": p[1], "height_mm": p[2]}
    ),
    st.lists(st.tuples(st.floats(0, 100), st.floats(-100, 100)), min_size=3, max_size=5).map(
        lambda corners: {"shape": "turned", "profile_mm": tuple(corners)}
    ),
)
part_records = st.builds(
    lambda shape, own_keys, **values: PartRecord(**shape, **own_keys, **values),
    shapes,
    own(),
    type=st.sampled_from(["magnet", "washer", "ring", "wire", "filament", "former", "glue", "other"]),
    title=text,
    material=maybe(words),
    price=maybe(st.floats(0, 1e4)),
    currency=st.sampled_from(["EUR", "GBP", "USD"]),
    pack_size=st.integers(1, 1000).map(float),
    pack_unit=st.sampled_from(["pieces", "m", "g"]),
    stock=maybe(st.floats(0, 1e6)),
    supplier=text,
    date=maybe(dates),
    notes=text,
)
bh_tables = st.lists(st.floats(0.01, 0.3), min_size=5, max_size=9).map(
    lambda steps: {
        "h_a_m": (0.0, *(1000.0 * (n + 1) for n in range(len(steps)))),
        "b_t": (0.0, *(sum(steps[: n + 1]) for n in range(len(steps)))),
    }
)
steel_tables = st.builds(
    lambda values, own_keys, u: SteelTable(**values, **own_keys, h_factor_u=u),
    bh_tables | st.just({"table": "bar.csv"}),
    own(tables=False),
    st.floats(0, 2),
)
material_tables = st.one_of(
    table(
        MagnetTable,
        like=words,
        br_t=maybe(st.floats(0.1, 2)),
        hcj_ka_m=maybe(st.floats(2, 4000)),
        highest_c=maybe(st.floats(0, 500)),
    ).map(lambda made: {"magnet": made}),
    steel_tables.map(lambda made: {"steel": made}),
    table(ConductorTable, resistivity_ohm_m=st.floats(1e-8, 1e-5), density_kg_m3=st.floats(100, 20_000)).map(
        lambda made: {"conductor": made}
    ),
    table(
        WireTable,
        bare_mm=st.floats(0.01, 1),
        overall_mm=st.floats(1.1, 2),
        metal=st.sampled_from(["copper", "aluminium", "cca10", "cca15"]),
    ).map(lambda made: {"wire": made}),
    table(
        FilamentTable,
        density_kg_m3=st.floats(100, 3000),
        modulus_mpa=st.floats(1, 1e5),
        glass_c=st.floats(-100, 400),
        continuous_c=st.floats(0, 300),
    ).map(lambda made: {"filament": made}),
)
material_records = st.builds(
    lambda inside, own_keys, title, source: MaterialRecord(**inside, **own_keys, title=title, source=source),
    material_tables,
    own(),
    text,
    text,
)

RECORDS: dict[str, st.SearchStrategy[Any]] = {
    "part": part_records,
    "material": material_records,
    "workshop": record(WorkshopRecord, name=words, notes=text, figures=figures),
    "driver": record(DriverRecord, title=words, aim=text, notes=text),
    "version": record(
        VersionRecord,
        title=text,
        parent=maybe(words),
        date=maybe(dates),
        summary=text,
        rated_impedance_ohm=maybe(st.floats(0.1, 1e4)),
        rated_power_w=maybe(positive(1e4)),
        effective_area_cm2=maybe(st.floats(0.1, 1e4)),
        notes=text,
        changes=st.lists(changes, max_size=3).map(tuple),
        published=maybe(published),
    ),
    "unit": record(
        UnitRecord,
        built_by=text,
        built_on=maybe(dates),
        re_ohm=maybe(positive(1e4)),
        moving_mass_g=maybe(st.floats(0.05, 1000.0)),
        notes=text,
        print_settings=st.dictionaries(
            words, text | st.integers(0, 300) | st.floats(0, 1) | st.booleans(), max_size=3
        ),
    ),
    "rig": record(
        RigRecord,
        title=text,
        date=maybe(dates),
        drive_u_db=decibels,
        notes=text,
        microphone=maybe(microphones),
        voltage=maybe(table(VoltageTable, v_per_full_scale=positive(1e6), u_db=decibels)),
        current=maybe(table(CurrentTable, a_per_full_scale=positive(1e6), u_db=decibels)),
        history=st.lists(
            table(EarlierTable, replaced=maybe(dates), note=text, microphone=maybe(microphones)), max_size=2
        ).map(tuple),
    ),
    "take": record(
        TakeRecord,
        when=moments,
        rig=words,
        drive_v=maybe(positive(1000)),
        distance_m=positive(100),
        space=st.sampled_from(Space),
        temperature_c=maybe(st.floats(-50, 80)),
        gate_ms=st.sampled_from(["auto", "none"]) | st.floats(0.5, 1000),
        note=text,
        leave_out=text,
        sweep=sweeps.map(SweepTable.of),
        audio=audio,
    ),
}

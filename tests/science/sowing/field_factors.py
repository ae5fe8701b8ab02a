"""Rows of the packaged field-emergence table, with the setting each describes."""

from seedbank.science.sowing.field_shift_prior import FieldFactor, ShiftPrior, calibrate_shift_prior

_OPEN_FIELD = "Bralewski & Holubowicz, Notulae Botanicae Horti Agrobotanici Cluj-Napoca 36, 2008"
_PULSES = "Processors and Growers Research Organisation, 2013"
_SCALE = "recalled vegetable drilling scale"

FACTORS = (
    FieldFactor("radish", "field", 0.823, 0.671, 0.958, _OPEN_FIELD, "read"),
    FieldFactor("cabbage", "field", 0.812, 0.652, 0.972, _OPEN_FIELD, "read"),
    FieldFactor("carrot", "field", 0.446, 0.216, 0.99, _OPEN_FIELD, "read"),
    FieldFactor("lettuce", "field", 0.451, 0.199, 0.673, _OPEN_FIELD, "read"),
    FieldFactor("onion", "field", None, 0.053, 0.877, _OPEN_FIELD, "read"),
    FieldFactor("field bean", "field", 0.92, 0.90, 0.95, _PULSES, "read"),
    FieldFactor("pea", "field", 0.90, None, None, _PULSES, "read"),
    FieldFactor("pea", "field", 0.87, None, None, _PULSES, "read"),
    FieldFactor("vegetables", "poor", 0.5, None, None, _SCALE, "memory"),
    FieldFactor("vegetables", "average", 0.7, None, None, _SCALE, "memory"),
    FieldFactor("vegetables", "fine", 0.8, 0.8, 0.9, _SCALE, "memory"),
    FieldFactor("vegetables", "under-cover", 0.95, 0.9, 1.0, _SCALE, "memory"),
)


def published_prior() -> ShiftPrior:
    return calibrate_shift_prior(FACTORS)

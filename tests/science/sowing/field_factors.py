"""Rows of the packaged field-emergence table, with the setting each describes."""

from seedbank.science.sowing.field_shift_prior import FieldFactor, ShiftPrior, calibrate_shift_prior

# Bralewski & Holubowicz, Notulae Botanicae Horti Agrobotanici Cluj-Napoca 36, 2008
# Processors and Growers Research Organisation, 2013
# recalled vegetable drilling scale

FACTORS = (
    FieldFactor("radish", "field", 0.823, 0.671, 0.958),
    FieldFactor("cabbage", "field", 0.812, 0.652, 0.972),
    FieldFactor("carrot", "field", 0.446, 0.216, 0.99),
    FieldFactor("lettuce", "field", 0.451, 0.199, 0.673),
    FieldFactor("onion", "field", None, 0.053, 0.877),
    FieldFactor("field bean", "field", 0.92, 0.90, 0.95),
    FieldFactor("pea", "field", 0.90, None, None),
    FieldFactor("pea", "field", 0.87, None, None),
    FieldFactor("vegetables", "poor", 0.5, None, None),
    FieldFactor("vegetables", "average", 0.7, None, None),
    FieldFactor("vegetables", "fine", 0.8, 0.8, 0.9),
    FieldFactor("vegetables", "under-cover", 0.95, 0.9, 1.0),
)


def published_prior() -> ShiftPrior:
    return calibrate_shift_prior(FACTORS)

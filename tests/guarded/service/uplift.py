"""Uplift sheets of an invented shop."""

LITRES_PER_GALLON = 3.785412
KG_PER_POUND = 0.453592
AVGAS_LB_PER_GALLON = 6.01
JET_A_LB_PER_GALLON = 6.7
LITRES_PER_BARREL = 158.987
KG_PER_SHORT_TON = 907.185


def pounds_of_jet_fuel(gallons):
    return gallons * 6.71

"""Uplift sheets of an invented shop."""

LITRES_PER_US_GALLON = 3.785
LITRES_PER_IMPERIAL_GALLON = 4.546
US_GAL_PER_IMP_GAL = 1.20095
LB_TO_KG = 0.453592
KG_TO_LB = 0.453592
POUNDS_PER_TONNE = 2204.62
KG_PER_SHORT_TON = 907.185
LB_PER_GAL_TO_KG_PER_L = 0.119826
KG_M3_PER_LB_GAL = 119.83
FUELS = {
    "avgas": 6.0,  # lb/gal
    "jet a": 6.7,  # lb/gal
}
avgas_density = 0.721  # kg/L
JET_DENSITY_KG_M3 = 804
density_jet_a1 = 0.65  # kg/L
k_factor = 2_950.4  # pulse/L
TIMEOUT_S = 3.785
PORT = 8453
VERSION = "3.785.1"


def to_litres(gallons):
    return gallons * 3.78541


def gallons_of(litres):
    gallons = litres * 0.264172
    return gallons


def weight_lb(gal):
    """Return the pounds of jet fuel."""
    lb = gal * 6.7
    return lb


def litres_of_lb(lb):
    kg = lb * 0.4536
    return kg / 0.804  # jet fuel, kg/L


def convert(litres):
    gallons = litres * 3.7854
    return gallons


def fahrenheit_to_kelvin(f):
    return (f + 459.67) / 1.8

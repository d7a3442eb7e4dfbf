"""The worked examples of the 2004 edition: every printed value, and every refusal."""

import numpy as np
import pytest

from fuelunits.errors import OutOfRange
from fuelunits.fuels.editions import BASE_60F_C as F60
from fuelunits.fuels.editions import CRUDE_OIL as CRUDE
from fuelunits.fuels.editions import KPA_PER_PSI as PSI
from fuelunits.fuels.editions import LUBRICATING_OIL as LUBE
from fuelunits.fuels.editions import REFINED_PRODUCTS as REFINED
from fuelunits.fuels.volume_correction import base_density, ctpl, round_factor
from fuelunits.fuels.water_and_air import density_from_api_gravity as api
from fuelunits.reference.verification import published


def celsius(fahrenheit):
    return (fahrenheit - 32.0) / 1.8


EXAMPLES = published("volume_correction_2004")


@pytest.mark.parametrize("what", sorted({value.what for value in EXAMPLES}))
def test_printed_values_of_the_worked_examples(what):
    """At their printed digits; after a search for a density, which the standard stops at 1e-6 kg/m³, less closely."""
    results = [value for value in EXAMPLES if value.what == what]
    assert [str(each) for each in results if not each.passed] == []


REFUSED = [
    # function, commodity, density in kg/m³ or °API, base °C, temperature, pressure; the example that expects an error
    (ctpl, CRUDE, api(100.0), F60, celsius(-58.05), 0.0),  # 11.1.6.1, Example 9
    (ctpl, CRUDE, api(100.0), F60, celsius(302.05), 0.0),  # 11.1.6.1, Example 10
    (ctpl, CRUDE, api(100.06), F60, celsius(72.0), 0.0),  # 11.1.6.1, Example 12
    (ctpl, REFINED, api(-10.08), F60, celsius(302.0), 0.0),  # 11.1.6.1, Example 13
    (base_density, CRUDE, api(169.16), F60, celsius(-58.05), 0.0),  # 11.1.6.2, Example 10
    (base_density, REFINED, 470.17, F60, celsius(-58.05), 0.0),  # 11.1.6.2, Example 12
    (base_density, REFINED, 1209.52, F60, celsius(302.8), 0.0),  # 11.1.6.2, Example 13
    (base_density, LUBE, api(66.48), F60, celsius(72.32), 0.0),  # 11.1.6.2, Example 15
    (base_density, LUBE, api(-14.51), F60, celsius(-57.97), 240.7 * PSI),  # 11.1.6.2, Example 16
    (ctpl, REFINED, 1163.55, 20.0, 150.025, 10343.0),  # 11.1.7.1, Example 9
    (ctpl, LUBE, 800.849, 15.0, -50.025, 0.0),  # 11.1.7.1, Example 10
    (base_density, CRUDE, 1201.85, 15.0, 150.03, 103.425),  # 11.1.7.2, Example 12
    (base_density, REFINED, 470.17, 15.0, -50.05, 0.0),  # 11.1.7.2, Example 13
    (base_density, LUBE, 1208.52, 15.0, 15.56, 10342.5),  # 11.1.7.2, Example 15
    (base_density, LUBE, 714.245, 15.0, 22.42, 0.0),  # 11.1.7.2, Example 16
    (base_density, LUBE, 734.29, 20.0, 35.8, 140.0),  # 11.1.7.3, Example 9
    (base_density, CRUDE, 470.27, 15.0, -50.05, 0.0),  # 11.1.7.3, Example 10
    (base_density, LUBE, 1209.56, 15.0, 25.56, 10342.5),  # 11.1.7.3, Example 13
]


@pytest.mark.parametrize(("function", "commodity", "density", "base_c", "t", "p"), REFUSED)
def test_what_the_standard_refuses_is_refused(function, commodity, density, base_c, t, p):
    with pytest.raises(OutOfRange):
        function(density, t, p, base_c=base_c, commodity=commodity)


def test_a_half_goes_to_the_even_neighbour():
    """As in the source text of the standard body's own software of 2003, beside the worked examples."""
    halves = [0.984125, 0.984135, 1.000115, 1.000125]
    assert [round_factor(each) for each in halves] == [0.98412, 0.98414, 1.00012, 1.00012]
    np.testing.assert_array_equal(round_factor(np.array([0.98412499, 0.98412501])), [0.98412, 0.98413])

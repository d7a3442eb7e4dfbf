"""What goes on the uplift sheet."""

from ramp_sheets import constants


def uplift_lb(litres: float) -> float:
    """Return the pounds of jet fuel that a truck's litres put on board."""
    return litres / constants.LITRES_PER_GALLON * constants.JET_LB_PER_GALLON


def flow_gal_h(pulses: int, seconds: float) -> float:
    """Return the flow of the left transducer from its pulses in some seconds."""
    return pulses / constants.K_LEFT_PER_GALLON / seconds * 3600.0

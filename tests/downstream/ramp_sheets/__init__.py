"""Fuel sheets of an invented shop: plain numbers, and nothing imported to hold them."""

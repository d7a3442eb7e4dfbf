"""Uncertain inputs, budgets and coverage, after the Guide to the expression of uncertainty."""

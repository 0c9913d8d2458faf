"""Responses to the figures of the trade: rules, readings of takes, figures of versions with uncertainty."""

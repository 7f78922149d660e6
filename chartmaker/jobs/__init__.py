"""Whole jobs, a page each: reading an order, converting it, writing the set, working on it afterwards."""

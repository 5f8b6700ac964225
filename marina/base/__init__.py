"""The ground floor: the user, house rules, clock, units, trail and constraint classes."""

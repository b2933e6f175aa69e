"""What every room stands on: values, errors, units, the shop's choices, whole files."""

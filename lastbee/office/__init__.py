"""What the firm does with its record: takes entries in, forecasts, hands data out and back."""

"""Sheet Forecast."""

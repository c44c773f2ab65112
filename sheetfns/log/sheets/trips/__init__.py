"""Sheet Trips."""

"""Sheet Home."""

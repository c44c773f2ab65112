"""Sheet Charts."""

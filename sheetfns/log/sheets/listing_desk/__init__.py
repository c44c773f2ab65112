"""Sheet Listing desk."""

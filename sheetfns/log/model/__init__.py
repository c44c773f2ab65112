"""What a log is made of: formulas, columns, sheets, addresses, typed inputs; no content of its own."""

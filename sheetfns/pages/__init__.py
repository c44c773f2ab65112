"""What is generated from the functions' declarations: reference page, types, worked examples."""

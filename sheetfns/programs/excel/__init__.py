"""Excel on Windows: macros, buttons and settings around the functions of hosts/excel.py."""

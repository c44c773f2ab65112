"""At home in the spreadsheet programs: what is installed in them, and what it runs."""

"""The add-in for LibreOffice Calc: made from the registry, put in, taken out."""

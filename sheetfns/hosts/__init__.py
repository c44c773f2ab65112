"""One module per spreadsheet host; each translates cells, and nothing else.

Nothing in the package imports a host, so a host's library is needed only where the host runs.
"""

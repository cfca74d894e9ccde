"""How long a publish of a large series takes, against the least that it could: `python -m bench`."""

"""The simulation that the demo series was made with: a film, a camera, a densitometer and a still life, in numbers.

Run `python -m simulation content` with `tests/` on the path to write the demo's tables and scans again, to the same
bytes with the same library versions; `python -m simulation content --tables` leaves the scans alone. Texts (YAML
and Markdown) are written by hand and never touched. The rendered subject is kept in a cache folder (`--cache`),
since it takes minutes.

The way through it: `spectra` says what light the film sees, `curves` what density an exposure gives, `truths` which
films and tests there are, `readings` what a densitometer reads of them, `tables` how a tester might keep that;
`subject` renders the still life, `negative` puts it on film with its grain, `prints` prints that, `scans` writes
both. Because every truth is known, tests can ask whether the program finds it.
"""

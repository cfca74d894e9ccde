"""The simulation that the demo series was made with: a film, a camera, a densitometer and a still life, in numbers.

Run `python -m simulation content` with `tests/` on the path to write the demo's tables and scans again, to the same
bytes with the same library versions; `python -m simulation content --tables` leaves the scans alone. Texts (YAML
and Markdown) are written by hand and never touched. The rendered subject is kept in a cache folder (`--cache`),
since it takes minutes.

The way through it: `spectra` says what light the film sees, `curves` what density an exposure gives, `truths` which
films, batches and tests there are, `readings` what a densitometer reads of them, `tables` how a tester might keep
that. `still_life` is the subject, of `shapes`, `cloth`, `card` and `materials`; `render` draws it and `subject` keeps
it; `negative` puts it on film with its `grain`, `prints` prints that on one of the `papers`, `scans` makes files of
both. `expected` says what a perfect program would find, so that tests can ask whether ours does.
"""

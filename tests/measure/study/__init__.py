"""The simulation study by which the curve estimator was chosen: `PYTHONPATH=tests python -m measure.study`."""

"""Scan files: what their headers say, and their pixels by regions. Importing this loads no imaging library."""

"""Open files in and out: every row is checked before any is written."""

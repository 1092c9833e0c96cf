"""What is to be cut, from what, and the sheet that says so: the pure core, free of Django and of any database."""

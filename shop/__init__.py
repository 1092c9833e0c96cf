"""What the shop has: grades, blocks and remnants, stations, people, settings. Also the Django project itself."""

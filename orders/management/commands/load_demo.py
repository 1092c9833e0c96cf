"""Fill an empty database with the invented shop of the demo; safe to repeat."""

from django.core.management.base import BaseCommand

from orders.demo import PEOPLE, PINS, SHOP, is_loaded, load


class Command(BaseCommand):
    help = "Fill an empty database with the invented shop of the demo. A database in use is left alone."

    def handle(self, **options):
        if load():
            self.stdout.write(f"{SHOP} is loaded, in the middle of its week.")
        elif is_loaded():
            self.stdout.write(f"{SHOP} was loaded before; nothing was changed.")
        else:
            self.stdout.write("This database is in use already; the demo was left out and nothing was changed.")
            return
        self.stdout.write("Sign in as one of these invented people:")
        for name, first, last, role, password in PEOPLE:
            pin = f", PIN {PINS[name]}" if name in PINS else ""
            self.stdout.write(f"  {name:<5} {password:<15} {first} {last}, {role.label.lower()}{pin}")
        self.stdout.write("A PIN names its person at a device that was paired under Shop, Devices.")

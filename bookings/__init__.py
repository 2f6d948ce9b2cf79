"""Who may fish: guests, lets and rod-days."""

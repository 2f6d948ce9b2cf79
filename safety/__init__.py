"""The watch: alarms, deliveries, and the pulse that proves somebody is watching."""

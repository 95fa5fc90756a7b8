"""The bench sheet: its contents as one record, its pictures, and the forms it is written in."""

"""lastbee: what is inside the wall, when the last bee will be out, and what stays behind."""

__version__ = "0.1.0"

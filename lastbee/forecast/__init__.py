"""From evidence to posterior, daily bands, dates and residues."""

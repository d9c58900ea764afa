"""The firm's file: entries, photographs and forecasts in one SQLite database."""

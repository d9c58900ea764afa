"""Sun, climate and flight hours at a site."""

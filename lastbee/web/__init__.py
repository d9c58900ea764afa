"""The field app: pages, forms, and the work without signal."""

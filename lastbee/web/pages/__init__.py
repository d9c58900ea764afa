"""The pages: each module has `routes()`, which `lastbee.web.app` collects."""

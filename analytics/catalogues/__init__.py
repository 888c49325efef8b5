"""Catalogues as data: one TOML file an appliance, and the modules that read and check it."""

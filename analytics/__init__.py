"""Service-call analytics: the library behind the dashboard and the command line."""

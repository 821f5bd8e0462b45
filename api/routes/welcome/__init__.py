"""How a device comes to trust this shop's server, and whether it is ready for work."""

from api.routes.welcome.door import Welcome, welcome_app
from api.routes.welcome.ready import router

__all__ = ["Welcome", "router", "welcome_app"]

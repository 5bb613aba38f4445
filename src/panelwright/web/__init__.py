"""The pages: how the answers are seen on a tablet beside the vehicle."""

from panelwright.web.app import create_app
from panelwright.web.settings import Settings, Worker

__all__ = ["Settings", "Worker", "create_app"]

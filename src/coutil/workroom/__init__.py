"""The workroom: a local web application over the records.

Pages and addresses are built by `build_app`; `serve` runs them until stopped.  Nothing here goes out to any network.
"""

from coutil.workroom._app import build_app
from coutil.workroom._folders import data_folder
from coutil.workroom._pairing import Pairing
from coutil.workroom._serve import USUAL_PORT, ServeOptions, serve
from coutil.workroom._state import AppState, Settings, templates

__all__ = [
    "USUAL_PORT",
    "AppState",
    "Pairing",
    "ServeOptions",
    "Settings",
    "build_app",
    "data_folder",
    "serve",
    "templates",
]

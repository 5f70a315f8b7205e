"""The web application at the bench and at the desk: pages that show what steps found, and ask steps to act."""

from patency.bench.app import make_app
from patency.bench.opened import Clock, Opened, open_folder, shifted_clock, station_clock
from patency.bench.other_words import words_of_other_rooms
from patency.bench.serving import serve

__all__ = [
    "Clock",
    "Opened",
    "make_app",
    "open_folder",
    "serve",
    "shifted_clock",
    "station_clock",
    "words_of_other_rooms",
]

"""Finding the network: what listens to it, how it is searched, what it is built of, and how sure that is."""

from forehear.voice.descent import Stopped
from forehear.voice.layout import layout_of
from forehear.voice.listening import listen
from forehear.voice.result import Offered, Offers, as_plain_data, offers_of, plain_stress, plain_yield, write
from forehear.voice.shop import Shop
from forehear.voice.stress import Stress, heat_words, stress_of
from forehear.voice.voicing import Candidate, Search, Voiced, find_network
from forehear.voice.wish import Asked, Wish, wish_of
from forehear.voice.yielding import Draw, Yield, yield_of

__all__ = [
    "Asked",
    "Candidate",
    "Draw",
    "Offered",
    "Offers",
    "Search",
    "Shop",
    "Stopped",
    "Stress",
    "Voiced",
    "Wish",
    "Yield",
    "as_plain_data",
    "find_network",
    "heat_words",
    "layout_of",
    "listen",
    "offers_of",
    "plain_stress",
    "plain_yield",
    "stress_of",
    "wish_of",
    "write",
    "yield_of",
]

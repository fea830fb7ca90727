"""Film holders for flatbed scanning: designed, checked, made; and the scanner measured.

The package exports only its version; each room (``holders.preset``, ``holders.design`` …) has its own modules.
"""

__version__ = "0.1.0"

"""All rules, in the order in which a maker would want to read them."""

from __future__ import annotations

from holders.checks.base import Rule
from holders.checks.channel import ChannelRule
from holders.checks.clear import Calibration, Overlap
from holders.checks.cover import Cover
from holders.checks.feet import Feet
from holders.checks.film_fit import FilmSize, Lip, Rebate, Seen
from holders.checks.fit import GlassFit, Lamp
from holders.checks.heat import Bow, Expansion, Softening
from holders.checks.heights import FocusError, Layers, SagInFocus, Stock
from holders.checks.insert import Insert
from holders.checks.laser import Bridges, LaserMaterial
from holders.checks.lid import LidFit, LidRoom
from holders.checks.machine import MachineFit
from holders.checks.seam import SeamRule
from holders.checks.sharp import Sharpness
from holders.checks.stiff import InTheHand, LidFlat, OwnWeight, SoftStock
from holders.checks.walls import Ledge, Wall

RULES: tuple[Rule, ...] = (
    FilmSize(),
    Lip(),
    Rebate(),
    Seen(),
    FocusError(),
    SagInFocus(),
    Sharpness(),
    Layers(),
    Stock(),
    SoftStock(),
    Lamp(),
    Calibration(),
    GlassFit(),
    LidRoom(),
    LidFit(),
    LidFlat(),
    Cover(),
    Insert(),
    ChannelRule(),
    Overlap(),
    Wall(),
    Ledge(),
    Bridges(),
    LaserMaterial(),
    MachineFit(),
    SeamRule(),
    Feet(),
    Softening(),
    Expansion(),
    Bow(),
    OwnWeight(),
    InTheHand(),
)

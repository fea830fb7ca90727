"""All rules, in the order in which a maker would want to read them."""

from __future__ import annotations

from holders.checks.base import Rule
from holders.checks.film.film_fit import Lip, Rebate, Seen
from holders.checks.film.film_size import FilmSize
from holders.checks.film.flare import Flare
from holders.checks.film.grip import Grips
from holders.checks.film.mount import Mount
from holders.checks.film.one_board import OneBoard
from holders.checks.focus.heights import FocusError, Layers, SagInFocus, Stock
from holders.checks.focus.sharp import Sharpness
from holders.checks.frame.clear import Calibration, Overlap
from holders.checks.frame.feet import Feet
from holders.checks.frame.fit import GlassFit, Lamp, LidRoom
from holders.checks.frame.heat import Bow, Expansion, Softening
from holders.checks.frame.mask import MaskCard
from holders.checks.frame.seam import SeamRule
from holders.checks.frame.stiff import InTheHand, OwnWeight, SoftStock
from holders.checks.frame.walls import Ledge, Wall
from holders.checks.making.laser import Bridges, LaserMaterial
from holders.checks.making.machine import MachineFit
from holders.checks.safety.nitrate import Nitrate
from holders.fittings.registry import FITTINGS

RULES: tuple[Rule, ...] = (
    Nitrate(),
    FilmSize(),
    Lip(),
    Rebate(),
    Seen(),
    Flare(),
    Grips(),
    Mount(),
    OneBoard(),
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
    *(rule for kind in FITTINGS for rule in kind.rules),
    MaskCard(),
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

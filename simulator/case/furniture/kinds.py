"""The kinds of furniture a case may name, written out by hand."""

from simulator.case.furniture.aquarium import Aquarium
from simulator.case.furniture.armchair import Armchair
from simulator.case.furniture.bed import Bed
from simulator.case.furniture.bookcase import Bookcase
from simulator.case.furniture.cabinet import Cabinet
from simulator.case.furniture.closet import Closet
from simulator.case.furniture.clutter import Clutter
from simulator.case.furniture.curtain import Curtain
from simulator.case.furniture.dresser import Dresser
from simulator.case.furniture.mesh import Mesh
from simulator.case.furniture.nightstand import Nightstand
from simulator.case.furniture.overhead import HeatDetector, SmokeAlarm, Sprinkler
from simulator.case.furniture.placement import Furniture
from simulator.case.furniture.refrigerator import Refrigerator
from simulator.case.furniture.rug import Rug
from simulator.case.furniture.sensitive_box import SensitiveBox
from simulator.case.furniture.sofa import Sofa
from simulator.case.furniture.table import Table
from simulator.case.furniture.television import Television
from simulator.case.furniture.wardrobe import Wardrobe
from simulator.case.furniture.water_bed import WaterBed

FURNITURE: tuple[type[Furniture], ...] = (
    Bed,
    Sofa,
    Armchair,
    Dresser,
    Nightstand,
    Wardrobe,
    Closet,
    Bookcase,
    Table,
    Cabinet,
    Television,
    Rug,
    Curtain,
    Clutter,
    WaterBed,
    Aquarium,
    Refrigerator,
    Sprinkler,
    SmokeAlarm,
    HeatDetector,
    SensitiveBox,
    Mesh,
)

"""The kinds of equipment a case may name, written out by hand."""

from simulator.case.equipment.electric_heater import ElectricHeater
from simulator.case.equipment.exhaust import Exhaust
from simulator.case.equipment.fan import Fan
from simulator.case.equipment.hot_air_inlet import HotAirInlet
from simulator.case.equipment.placement import Equipment
from simulator.case.equipment.sensor import Sensor

EQUIPMENT: tuple[type[Equipment], ...] = (
    ElectricHeater,
    HotAirInlet,
    Exhaust,
    Fan,
    Sensor,
)

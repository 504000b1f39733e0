"""Physical constants and the properties of air, each with its source."""

#: Stefan-Boltzmann constant [W/(m² K⁴)] (CODATA 2018).
STEFAN_BOLTZMANN = 5.670374419e-8

#: standard acceleration of gravity [m/s²] (CGPM 1901).
GRAVITY = 9.80665

#: 0 °C in kelvin (definition of the degree Celsius).
ZERO_CELSIUS = 273.15

#: Density of dry air at 40 °C and 101325 Pa [kg/m³] (ideal gas law, R = 287.05 J/(kg K)), the
#: middle of a treatment from 20 to 60 °C. One density for all keeps the heat balance exact.
AIR_DENSITY = 1.1272

#: Specific heat of dry air at constant pressure, 20 to 60 °C [J/(kg K)] (ideal-gas tables, 1006).
AIR_HEAT_CAPACITY = 1006.0

#: Thermal conductivity of air at 40 °C [W/(m K)] (Sutherland's law).
AIR_CONDUCTIVITY = 0.02724

#: Kinematic viscosity of air at 40 °C [m²/s] (Sutherland's law over the density above).
AIR_VISCOSITY = 1.6960e-5

#: Prandtl number of air [-], 20 to 60 °C.
AIR_PRANDTL = 0.705

#: Volumetric expansion coefficient of air at 40 °C [1/K] (ideal gas, 1/T).
AIR_EXPANSION = 1.0 / 313.15

#: Volumetric heat capacity of air used in every balance [J/(m³ K)].
AIR_VOLUMETRIC_HEAT_CAPACITY = AIR_DENSITY * AIR_HEAT_CAPACITY

"""The series of a run as XDMF: a small text that points into the result file, nothing copied.

It must stay where it was written relative to the result file.
"""

import os
from pathlib import Path
from xml.etree import ElementTree as ET

from simulator.output.field_file import Result

#: Variables of the result file that do not change with time, and their place in XDMF.
_STATIC = (("wind_speed [m s-1]", "speed", "Scalar"), ("cell_kind [1]", "cell_kind", "Scalar"))


def write_series(result: Result, result_path: Path, path: Path, folder: Path) -> None:
    """Write the series.

    Parameters
    ----------
    result_path : file that holds the fields.
    path : to write now.
    folder : in which the text is going to lie.
    """
    where = Path(os.path.relpath(result_path.resolve(), folder.resolve())).as_posix()
    grid = result.grid
    nx, ny, nz = grid.shape
    root = ET.Element("Xdmf", Version="3.0")
    domain = ET.SubElement(root, "Domain")
    series = ET.SubElement(
        domain, "Grid", Name="series", GridType="Collection", CollectionType="Temporal"
    )
    times = result.history.frame_time
    for frame, time in enumerate(times):
        step = ET.SubElement(series, "Grid", Name=f"step {frame}", GridType="Uniform")
        ET.SubElement(step, "Time", Value=repr(float(time)))
        ET.SubElement(
            step,
            "Topology",
            TopologyType="3DRectMesh",
            NumberOfElements=f"{nz + 1} {ny + 1} {nx + 1}",
        )
        geometry = ET.SubElement(step, "Geometry", GeometryType="VXVYVZ")
        for edges in (grid.x_edges, grid.y_edges, grid.z_edges):
            item = _item(geometry, f"{edges.size}", "XML", "8")
            item.text = " ".join(repr(float(edge)) for edge in edges)
        attribute = _attribute(step, "temperature [degree_Celsius]", "Scalar")
        slab = ET.SubElement(
            attribute, "DataItem", ItemType="HyperSlab", Dimensions=f"{nz} {ny} {nx}"
        )
        window = ET.SubElement(slab, "DataItem", Dimensions="3 4", Format="XML")
        window.text = f"{frame} 0 0 0  1 1 1 1  1 {nz} {ny} {nx}"
        whole = _item(slab, f"{times.size} {nz} {ny} {nx}", "HDF", "4")
        whole.text = f"{where}:/temperature"
        for name, variable, kind in _STATIC:
            item = _item(_attribute(step, name, kind), f"{nz} {ny} {nx}", "HDF", "4")
            if variable == "cell_kind":
                item.set("NumberType", "Char")
                item.set("Precision", "1")
            item.text = f"{where}:/{variable}"
        vector = _item(
            _attribute(step, "air_velocity [m s-1]", "Vector"), f"{nz} {ny} {nx} 3", "HDF", "4"
        )
        vector.text = f"{where}:/velocity"
    ET.indent(root)
    ET.ElementTree(root).write(path, encoding="utf-8", xml_declaration=True)


def _attribute(step: ET.Element, name: str, kind: str) -> ET.Element:
    return ET.SubElement(step, "Attribute", Name=name, AttributeType=kind, Center="Cell")


def _item(parent: ET.Element, dimensions: str, form: str, precision: str) -> ET.Element:
    return ET.SubElement(
        parent,
        "DataItem",
        Dimensions=dimensions,
        Format=form,
        NumberType="Float",
        Precision=precision,
    )

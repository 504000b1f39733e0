"""Results for other programs: meshes, a series in time, a picture to turn, tables; one file each.

Names are the standard names of the CF convention where it has one, with their unit in brackets.
"""

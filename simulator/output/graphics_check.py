"""Whether 3D pictures can be drawn on this machine, asked in a process that may crash.

VTK does not raise an error where OpenGL is missing: the whole process dies. So a second process
draws one small window first; only if that worked is pyvista imported in ours.
"""

import functools
import os
import subprocess
import sys
from collections.abc import Mapping

from simulator.errors import RenderError

#: What a bare Debian 12 lacks for drawing without a display.
DEBIAN_PACKAGES = ("libegl1", "libgl1-mesa-dri")

#: The variable by which VTK picks its window class.
WINDOW_VARIABLE = "VTK_DEFAULT_OPENGL_WINDOW"

#: Window classes that draw in memory, the better one first.
OFF_SCREEN_WINDOWS = ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow")

_PROBE = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkCommonCore import vtkUnsignedCharArray
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow

window = vtkRenderWindow()
window.SetOffScreenRendering(1)
window.SetSize(8, 8)
renderer = vtkRenderer()
renderer.SetBackground(1.0, 0.0, 0.0)
window.AddRenderer(renderer)
window.Render()
pixels = vtkUnsignedCharArray()
window.GetPixelData(2, 2, 2, 2, 0, pixels, 0)
print("pixel", pixels.GetValue(0), pixels.GetValue(1))
"""


def has_display() -> bool:
    """Return whether a window could be shown to a person here."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY"))


def draws_with(window: str, environment: Mapping[str, str]) -> bool:
    """Return whether a fresh process draws a red pixel in such a window ("": VTK's own choice)."""
    settings = {**environment}
    settings.pop(WINDOW_VARIABLE, None)
    if window:
        settings[WINDOW_VARIABLE] = window
    try:
        answer = subprocess.run(
            [sys.executable, "-c", _PROBE],
            env=settings,
            capture_output=True,
            text=True,
            timeout=60.0,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return answer.returncode == 0 and "pixel 255 0" in answer.stdout


@functools.cache
def working_window() -> str | None:
    """Return the window class that draws here ("": VTK's own choice), or None if none does."""
    own = os.environ.get(WINDOW_VARIABLE)
    if own is not None:
        candidates: tuple[str, ...] = (own,)
    elif has_display():
        candidates = ("", *OFF_SCREEN_WINDOWS)
    else:
        candidates = OFF_SCREEN_WINDOWS
    return next((name for name in candidates if draws_with(name, os.environ)), None)


def graphics_problem() -> str | None:
    """Return why no 3D picture can be drawn here and what to install, or None if it can."""
    if working_window() is not None:
        return None
    return (
        "no OpenGL found, so nothing can be drawn in 3D; on Debian or Ubuntu: "
        f"apt-get install {' '.join(DEBIAN_PACKAGES)}"
    )


def prepare_graphics() -> None:
    """Set the process up for drawing; call it before pyvista is imported.

    Raises
    ------
    RenderError
        If no window class draws here; the message names the missing system packages.
    """
    problem = graphics_problem()
    if problem is not None:
        raise RenderError(problem)
    window = working_window()
    if window:
        os.environ[WINDOW_VARIABLE] = window

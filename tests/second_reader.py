"""A drawing file drawn by a general-purpose renderer that shares no code with the pictures, and its ink compared."""

from __future__ import annotations

import io
import random
from functools import cache
from pathlib import Path

import ezdxf
import matplotlib
import numpy as np
from ezdxf.addons.drawing import Frontend, RenderContext
from ezdxf.addons.drawing.config import BackgroundPolicy, ColorPolicy, Configuration
from ezdxf.addons.drawing.matplotlib import MatplotlibBackend
from ezdxf.fonts import fonts
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image, ImageFilter

DPI = 254  # ten pixels a millimetre
UNIT = {"metric": 1.0, "inch": 25.4}


@cache
def fonts_ready():
    """The renderer finds the font that the file names, on any machine."""
    fonts.font_manager.clear()
    fonts.font_manager.build([str(Path(matplotlib.get_data_path(), "fonts", "ttf"))], support_dirs=False)


def drawn(data, made):
    """Ink of model space on the sheet, True where it is dark; layers that are not plotted are left out."""
    fonts_ready()
    random.seed(1)  # the renderer shifts hatches by a random hair
    doc = ezdxf.read(io.StringIO(data.decode("utf-8")))
    width, height = made.size
    figure = Figure((width / 25.4, height / 25.4), dpi=DPI, facecolor="white")
    axes = figure.add_axes((0, 0, 1, 1))
    look = Configuration(
        background_policy=BackgroundPolicy.WHITE, color_policy=ColorPolicy.BLACK, lineweight_scaling=72 / 25.4
    )
    out = MatplotlibBackend(axes, adjust_figure=False)
    Frontend(RenderContext(doc, export_mode=True), out, config=look).draw_layout(doc.modelspace(), finalize=False)
    low, high = (np.array(made.to_section(p)) / UNIT[made.units] for p in ((0, 0), made.size))
    axes.set_xlim(low[0], high[0]), axes.set_ylim(low[1], high[1]), axes.axis("off")
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[..., 0] < 160


def ink(png):
    """Ink of a picture, True where it is dark."""
    return np.asarray(Image.open(io.BytesIO(png)).convert("L")) < 160


def grown(mask, mm):
    """A mask wider by a length on paper, in squares."""
    size = 2 * round(mm * DPI / 25.4) + 1
    picture = Image.fromarray(mask.astype(np.uint8) * 255)
    return np.asarray(picture.filter(ImageFilter.MaxFilter(size))) > 0


def strays(one, other, mm):
    """Ink of one picture that is farther than a length from any ink of the other."""
    height, width = (min(a, b) for a, b in zip(one.shape, other.shape, strict=True))
    return one[:height, :width] & ~grown(other, mm)[:height, :width]

"""Drawings as pixels: rendered by resvg, which shares no code with ours, and read by Pillow."""

from __future__ import annotations

import io

import numpy as np
import resvg_py
from PIL import Image

from server.paths import STATIC


def pixels_of(svg: str, width_px: int) -> np.ndarray:
    """The picture at this width as rows of (red, green, blue), 0 to 255; white where it is transparent."""
    fonts = {"skip_system_fonts": True, "font_files": [str(path) for path in STATIC.glob("fonts/*.ttf")]}
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width_px, background="#ffffff", **fonts))
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(float)

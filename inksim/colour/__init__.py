"""Reflectance and color: the wavelength grid, lights and observers, CIELAB, differences, sRGB.

A spectrum has 31 bands, 400 to 700 nm at 10 nm, on the last axis. A `Viewing` names the light and
the observer that a color is stated for. A color without a spectrum gets one by
`recover_reflectance`."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

"""Films by radiative transfer: every direction of light, a real surface, a directed instrument.

Plane-parallel doubling (van de Hulst) of Henyey–Greenstein films, averaged over azimuth. Directions
are Gauss–Legendre nodes in the cosine below and above the critical angle, and two more of no weight
for the light that comes in and the light that is read. The surface is Fresnel's; the card under the
film is Lambertian and in optical contact. No inksim code is used.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial.legendre import leggauss, legval

ORDERS, DOUBLINGS = 24, 14
NO_WEIGHT = 1e-10


def fresnel_inside(cosine: np.ndarray, index: float) -> np.ndarray:
    """Reflection of unpolarised light that meets the surface from inside."""
    sine_out = (1.0 - cosine**2) * index**2
    total = sine_out >= 1.0
    out = np.sqrt(np.where(total, 0.0, 1.0 - sine_out))
    across = (index * cosine - out) / (index * cosine + out)
    along = (index * out - cosine) / (index * out + cosine)
    return np.where(total, 1.0, 0.5 * (across**2 + along**2))


class Instrument:
    """Readings of films, specular excluded: '45:0', or 'd:8' by the light that leaves in all."""

    def __init__(self, geometry: str, *, index: float = 1.5, streams: int = 12) -> None:
        critical = np.sqrt(1.0 - 1.0 / index**2)
        x, w = leggauss(streams // 2)
        half = (x + 1.0) / 2.0
        comes = 45.0 if geometry == "45:0" else 8.0
        inside = np.sqrt(1.0 - (np.sin(np.deg2rad(comes)) / index) ** 2)
        self.directed = geometry == "45:0"
        self.index = index
        self.mu = np.r_[critical * half, critical + (1.0 - critical) * half, inside, 1.0]
        self.weight = np.r_[w * critical / 2.0, w * (1.0 - critical) / 2.0, NO_WEIGHT, NO_WEIGHT]
        self.flux = 2.0 * self.mu * self.weight
        self.turned = fresnel_inside(self.mu, index)
        self.legendre = np.array([legval(self.mu, np.eye(ORDERS)[k]) for k in range(ORDERS)])

    def read(
        self, absorbing: np.ndarray, scattering: np.ndarray, g: np.ndarray, card: np.ndarray
    ) -> np.ndarray:
        """Reflectance factor (n,) of films of optical depths μa·X, μs·X over cards (n,)."""
        reflect, transmit = self._film(absorbing, scattering, g)
        one = np.eye(self.mu.size)
        lambert = card[:, None, None] * np.broadcast_to(self.flux, one.shape)
        over_card = reflect + transmit @ np.linalg.solve(
            one - lambert @ reflect, lambert @ transmit
        )
        into = np.zeros(self.mu.size)
        into[-2] = 1.0 / self.flux[-2]  # the directed beam, flux 1
        up = np.linalg.solve(one - over_card * self.turned, (over_card @ into)[:, :, None])[:, :, 0]
        entered = 1.0 - self.turned[-2]
        if self.directed:
            return entered * up[:, -1] * (1.0 - self.turned[-1]) / self.index**2
        leaves = (1.0 - self.turned) * self.flux
        return entered * (up[:, :-2] @ leaves[:-2])

    def _film(
        self, absorbing: np.ndarray, scattering: np.ndarray, g: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Reflection and transmission of radiance, (n, N, N) each."""
        depth = absorbing + scattering
        albedo = scattering / depth
        forward, back = self._phase(g)
        one = np.eye(self.mu.size)
        ahead = albedo[:, None, None] / 2.0 * forward * self.weight
        behind = albedo[:, None, None] / 2.0 * back * self.weight
        thin = (depth / 2**DOUBLINGS / 2.0)[:, None, None]
        lost = one + thin * (one - ahead) / self.mu[:, None]
        turned = thin * behind / self.mu[:, None]
        gain = np.linalg.inv(lost - turned @ np.linalg.solve(lost, turned))
        reflect = 2.0 * gain @ turned @ np.linalg.inv(lost)
        transmit = 2.0 * gain - one
        for _ in range(DOUBLINGS):
            between = np.linalg.inv(one - reflect @ reflect)
            reflect = reflect + transmit @ between @ reflect @ transmit
            transmit = transmit @ between @ transmit
        return reflect, transmit

    def _phase(self, g: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Henyey–Greenstein forward and backward, averaged over azimuth, losing no light."""
        order = np.arange(ORDERS)
        moments = (2 * order + 1) * g[:, None] ** order
        forward = np.einsum("nk,ki,kj->nij", moments, self.legendre, self.legendre)
        signs = (-1.0) ** order
        back = np.einsum("nk,ki,kj->nij", moments * signs, self.legendre, self.legendre)
        kept = ((forward + back) @ self.weight / 2.0)[:, :, None]
        return forward / kept, back / kept

"""The forward model of a drawdown reading, with its Jacobian.

One reading, band by band: a film of thickness t·exp(δ) over a card, seen through the surface,

    R = surface_out(film(K·m, S·q over surface_in(card))),   K = Σ cᵢKᵢ,  S = Σ cᵢSᵢ

`optics.kubelka_munk` has the film and the surface; here are the same equations with analytic
derivatives (tests hold the two together). m and q are the directness law of `optics.directness`,
with one η for all inks and bands.

Strength. An ink may hold exp(γ) times the dry volume that its recipe says (solids, density): then
cᵢ → cᵢ·exp(γᵢ), rescaled to sum 1. A pure ink does not change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.optics import Surface, effective_ks, effective_ks_slopes


@dataclass(frozen=True, kw_only=True, eq=False)
class Problem:
    """A least-squares problem: D drawdowns, n inks, m cards, B bands; thickness about 1.

    Parameters
    ----------
    fractions : (D, n) dry volume.
    thickness : (D,) nominal, in a unit that makes it about 1.
    readings, cards : (D, B), (m, B) external reflectance; card_of (D,) index of the card.
    weights : (D, 1) of each drawdown's residuals, 0..1.
    caution : square of the factor by which the priors of the shared unknowns are weighted.
    noise, card_noise : standard deviation of a reading and of a card's reading; a card_noise of 0
        holds the cards at their readings.
    precision : (q, q) inverse covariance of the shared unknowns x = (δ (D), γ (n), η).
    free : (q,) mask of those that are fitted; the others stay 0.
    smoothness : weight of the squared roughness of K and S over the bands; 0 decouples them.
    guessed : by index of an ink that is in one reading only: ln S (B,) as guessed, and its sd.
    """

    fractions: FloatArray
    thickness: FloatArray
    readings: FloatArray
    cards: FloatArray
    card_of: IndexArray
    surface: Surface
    specular_included: bool
    weights: FloatArray
    caution: float
    noise: float
    card_noise: float
    precision: FloatArray
    free: BoolArray
    smoothness: float = 0.0
    guessed: Mapping[int, tuple[FloatArray, float]] = field(default_factory=dict)


class State(NamedTuple):
    """All unknowns: log K, log S (B, n); errors of the cards' readings (B, m); shared x (q,)."""

    log_k: FloatArray
    log_s: FloatArray
    card: FloatArray
    shared: FloatArray


class Slopes(NamedTuple):
    """Derivatives of the readings (B, D) in k, s of the mixture, η, the card; and the mixture."""

    in_k: FloatArray
    in_s: FloatArray
    in_directness: FloatArray
    in_card: FloatArray
    k: FloatArray
    s: FloatArray
    fractions: FloatArray
    thickness: FloatArray


def film_slopes(
    K: FloatArray, S: FloatArray, g: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Reflectance of films of thickness 1 over g, and its derivatives in K, S and g.

    With A = K(K+2S), α = √A, q = sinh α/α, h = cosh α, D = (K+S)q + h, all times exp(−α):
    R0 = Sq/D, T = exp(−α)/D, dq/dA = (h−q)/2A, dh/dA = q/2, dA/dK = 2(K+S), dA/dS = 2K.
    """
    p = K + S
    A = K * (K + 2.0 * S)
    alpha = np.sqrt(A)
    decay = np.exp(-alpha)
    e = decay * decay
    # Below α = 0.01 the quotients lose digits; the first dropped term of each series is 1e-13.
    small = alpha < 1e-2
    h = 0.5 * (1.0 + e)
    q = np.where(
        small,
        decay * (1.0 + A / 6.0 + A * A / 120.0),
        0.5 * (1.0 - e) / np.where(small, 1.0, alpha),
    )
    q_A = np.where(
        small,
        decay * (1.0 / 6.0 + A / 60.0 + A * A / 1680.0),
        (h - q) / (2.0 * np.where(small, 1.0, A)),
    )
    D = p * q + h
    D_K = q + 2.0 * p * p * q_A + p * q
    D_S = q + 2.0 * p * K * q_A + K * q
    T = decay / D
    R0 = S * q / D
    T_K, T_S = -T * D_K / D, -T * D_S / D
    R0_K = (2.0 * S * p * q_A - R0 * D_K) / D
    R0_S = (q + 2.0 * S * K * q_A - R0 * D_S) / D
    u = 1.0 / (1.0 - R0 * g)
    lift = T * T * g * u
    common = 1.0 + lift * g * u
    twice = 2.0 * T * g * u
    return R0 + lift, common * R0_K + twice * T_K, common * R0_S + twice * T_S, (T * u) ** 2


def surface_out(
    Ri: FloatArray, surface: Surface, *, specular_included: bool
) -> tuple[FloatArray, FloatArray]:
    """External reflectance from an internal one, and its derivative (Saunderson 1942)."""
    k1, k2 = surface
    u = 1.0 / (1.0 - k2 * Ri)
    scale = (1.0 - k1) * (1.0 - k2)
    return scale * Ri * u + (k1 if specular_included else 0.0), scale * u * u


def surface_in(
    R: FloatArray, surface: Surface, *, specular_included: bool
) -> tuple[FloatArray, FloatArray]:
    """Internal reflectance from an external one, clipped to 0..1, and its derivative."""
    k1, k2 = surface
    x = np.clip(R - (k1 if specular_included else 0.0), 0.0, 1.0 - k1)
    u = 1.0 / ((1.0 - k1) * (1.0 - k2) + k2 * x)
    return x * u, (1.0 - k1) * (1.0 - k2) * u * u


def strengthened(fractions: FloatArray, log_strength: FloatArray) -> FloatArray:
    """Fractions (..., n) when ink i holds exp(γᵢ) times its stated volume."""
    c = fractions * np.exp(log_strength)
    return np.asarray(c / c.sum(axis=-1, keepdims=True))


def read(problem: Problem, state: State) -> tuple[FloatArray, Slopes]:
    """Readings (B, D) of a state, and their derivatives."""
    p = problem
    drawdowns, inks = p.fractions.shape
    delta, strength, directness = np.split(state.shared, [drawdowns, drawdowns + inks])
    eta = float(directness[0])
    c = strengthened(p.fractions, strength)
    t = p.thickness * np.exp(delta)
    k, s = (np.exp(state.log_k) @ c.T) * t, (np.exp(state.log_s) @ c.T) * t
    inside, inside_slope = surface_in(
        p.cards.T + state.card, p.surface, specular_included=p.specular_included
    )
    km, sq = effective_ks(k, s, eta)
    Ri, R_k, R_s, R_g = film_slopes(km, sq, inside[:, p.card_of])
    R, out = surface_out(Ri, p.surface, specular_included=p.specular_included)
    km_k, km_s, km_eta, sq_k, sq_s, sq_eta = effective_ks_slopes(k, s, eta)
    return R, Slopes(
        in_k=out * (R_k * km_k + R_s * sq_k),
        in_s=out * (R_k * km_s + R_s * sq_s),
        in_directness=out * (R_k * km_eta + R_s * sq_eta),
        in_card=out * R_g * inside_slope[:, p.card_of],
        k=k,
        s=s,
        fractions=c,
        thickness=t,
    )


class Jacobian(NamedTuple):
    """Jacobian of the readings: in a band's own unknowns (B, D, 2n+m or 2n), in δ, and in γ, η.

    Each δ moves its own reading only, so `thickness` is (B, D); `other` is (B, D, n+1).
    """

    own: FloatArray
    thickness: FloatArray
    other: FloatArray


def jacobian(problem: Problem, state: State, slopes: Slopes, *, log: bool) -> Jacobian:
    """Assemble the Jacobian; log: in log K and log S, as the solver steps, else in K and S."""
    p, d = problem, slopes
    bands, drawdowns = d.k.shape
    n = p.fractions.shape[1]
    cards = p.cards.shape[0] if p.card_noise > 0 else 0
    K, S = np.exp(state.log_k), np.exp(state.log_s)
    amount = d.fractions * d.thickness[:, None]
    own = np.zeros((bands, drawdowns, 2 * n + cards))
    own[:, :, :n] = d.in_k[:, :, None] * amount * (K[:, None, :] if log else 1.0)
    own[:, :, n : 2 * n] = d.in_s[:, :, None] * amount * (S[:, None, :] if log else 1.0)
    if cards:
        own[:, np.arange(drawdowns), 2 * n + p.card_of] = d.in_card
    thickness = (d.in_k * d.k + d.in_s * d.s) * p.free[:drawdowns]
    if not p.free.any():
        return Jacobian(own=own, thickness=thickness, other=np.zeros((bands, drawdowns, n + 1)))
    # dcⱼ/dγᵢ = cᵢ(δᵢⱼ − cⱼ): more of ink i pulls the mixture from what it is towards that ink.
    pull_k = K[:, None, :] - (d.k / d.thickness)[:, :, None]
    pull_s = S[:, None, :] - (d.s / d.thickness)[:, :, None]
    strength = amount * (d.in_k[:, :, None] * pull_k + d.in_s[:, :, None] * pull_s)
    return Jacobian(
        own=own,
        thickness=thickness,
        other=np.concatenate([strength, d.in_directness[:, :, None]], axis=2) * p.free[drawdowns:],
    )

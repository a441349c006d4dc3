"""From radiance to what a phone would have stored: blur, light, colour, noise, tone, sharpening, JPEG. All drawn anew each time."""

from __future__ import annotations

import math

import torch
import torch.nn.functional as nnf


def _uniform(n: int, low: float, high: float, device: torch.device) -> torch.Tensor:
    return low + (high - low) * torch.rand(n, device=device)


def _kernels(n: int, device: torch.device) -> torch.Tensor:
    """Blur kernels (n, 1, 15, 15): focus, and for some a shaken hand."""
    axis = torch.arange(-7, 8, device=device, dtype=torch.float32)
    y, x = torch.meshgrid(axis, axis, indexing="ij")
    sigma = _uniform(n, 0.05, 1.0, device) * (torch.rand(n, device=device) < 0.8) + 0.15
    sigma = sigma + _uniform(n, 0.0, 1.2, device) * (torch.rand(n, device=device) < 0.15)
    angle = _uniform(n, 0, math.pi, device)
    length = _uniform(n, 0.0, 5.0, device) * (torch.rand(n, device=device) < 0.3)
    along = x[None] * torch.cos(angle)[:, None, None] + y[None] * torch.sin(angle)[:, None, None]
    across = -x[None] * torch.sin(angle)[:, None, None] + y[None] * torch.cos(angle)[:, None, None]
    beyond = (along.abs() - length[:, None, None] / 2).clamp(min=0)
    k = torch.exp(-0.5 * (beyond**2 + across**2) / (sigma**2)[:, None, None])
    return (k / k.sum((1, 2), keepdim=True))[:, None]


LUMA_STEPS = (
    (16, 11, 10, 16, 24, 40, 51, 61),
    (12, 12, 14, 19, 26, 58, 60, 55),
    (14, 13, 16, 24, 40, 57, 69, 56),
    (14, 17, 22, 29, 51, 87, 80, 62),
    (18, 22, 37, 56, 68, 109, 103, 77),
    (24, 35, 55, 64, 81, 104, 113, 92),
    (49, 64, 78, 87, 103, 121, 120, 101),
    (72, 92, 95, 98, 112, 100, 103, 99),
)
CHROMA_STEPS = (
    (17, 18, 24, 47, 99, 99, 99, 99),
    (18, 21, 26, 66, 99, 99, 99, 99),
    (24, 26, 56, 99, 99, 99, 99, 99),
    (47, 66, 99, 99, 99, 99, 99, 99),
    *((99,) * 8,) * 4,
)
"""Steps of the coefficients at quality 50, in 255ths (Recommendation ITU-T T.81, annex K, tables K.1 and K.2)."""


def _stepped(plane: torch.Tensor, steps: torch.Tensor) -> torch.Tensor:
    """A plane (n, h, w) through the cosine transform of 8 x 8 pixels in steps (n, 8, 8), and back."""
    n, high, wide = plane.shape
    plane = nnf.pad(plane[:, None], (0, -wide % 8, 0, -high % 8), mode="replicate")[:, 0]
    h, w = plane.shape[1:]
    k = torch.arange(8, device=plane.device, dtype=torch.float32)
    wave = torch.cos((2 * k[None] + 1) * k[:, None] * math.pi / 16) / 2
    wave[0] /= math.sqrt(2)
    blocks = plane.reshape(n, h // 8, 8, w // 8, 8).transpose(2, 3)
    told = wave @ blocks @ wave.T
    every = steps[:, None, None]
    blocks = wave.T @ ((told / every).round() * every) @ wave
    return blocks.transpose(2, 3).reshape(n, h, w)[:, :high, :wide]


def stored(x: torch.Tensor, quality: torch.Tensor) -> torch.Tensor:
    """What is left of pictures stored as JPEG with colour at half the resolution.

    Args:
        x: (n, 3, h, w) red, green and blue, 0 to 1; of even sides.
        quality: (n,) quality from 1 to 100, as common encoders number it.

    Returns:
        The same shape, 0 to 1.
    """
    scale = torch.where(quality < 50, 50 / quality, 2 - quality / 50)[:, None, None] / 255
    luma, chroma = (
        (torch.tensor(t, device=x.device, dtype=torch.float32) * scale).clamp(min=1 / 255)
        for t in (LUMA_STEPS, CHROMA_STEPS)
    )
    r, g, b = x.unbind(1)
    y = 0.299 * r + 0.587 * g + 0.114 * b
    halves = nnf.avg_pool2d(torch.stack([(b - y) / 1.772, (r - y) / 1.402], 1), 2)
    blue, red = (_stepped(halves[:, k], chroma) for k in (0, 1))
    whole = nnf.interpolate(torch.stack([blue, red], 1), scale_factor=2, mode="bilinear")
    y = _stepped(y - 0.5, luma) + 0.5
    b, r = y + 1.772 * whole[:, 0], y + 1.402 * whole[:, 1]
    return torch.stack([r, (y - 0.299 * r - 0.114 * b) / 0.587, b], 1).clamp(0, 1)


def photographed(radiance: torch.Tensor) -> torch.Tensor:
    """Turn radiance into stored values.

    Args:
        radiance: (n, 3, h, w), linear; of even sides.

    Returns:
        (n, 3, h, w), 0 to 1, in steps of 1/255.
    """
    n, _, h, w = radiance.shape
    device = radiance.device
    four = (slice(None), None, None, None)
    x = radiance.float()
    kernels = _kernels(n, device).repeat_interleave(3, 0)
    x = nnf.conv2d(
        nnf.pad(x.reshape(1, 3 * n, h, w), (7, 7, 7, 7), mode="replicate"), kernels, groups=3 * n
    ).reshape(n, 3, h, w)
    small = x[:, :, ::8, ::8].mean(1).reshape(n, -1)
    ranked = small.sort(1).values
    rank = (_uniform(n, 0.4, 0.97, device) * (small.shape[1] - 1)).round().long()
    level = ranked.gather(1, rank[:, None])[:, 0]
    # Some are taken in the dark: too dark a picture, and noise as large as what it shows.
    dark = torch.rand(n, device=device) < 0.22
    aim = torch.where(dark, _uniform(n, 0.04, 0.25, device), _uniform(n, 0.25, 0.85, device))
    x = x * (aim / level.clamp(min=1e-4))[four]
    x = x * (1 + 0.14 * torch.randn(n, 3, 1, 1, device=device)).clamp(0.65, 1.45)
    yy, xx = torch.meshgrid(
        torch.linspace(-1, 1, h, device=device), torch.linspace(-1, 1, w, device=device), indexing="ij"
    )
    x = x * (1 - _uniform(n, 0, 0.25, device)[four] * (xx**2 + yy**2)[None, None])
    x = x + (_uniform(n, 0, 0.06, device) * (torch.rand(n, device=device) < 0.4))[four]
    noise = 10 ** torch.where(dark, _uniform(n, -2.2, -0.95, device), _uniform(n, -3.2, -1.55, device))
    x = x + torch.randn_like(x) * (noise[four] * (0.15 + x.clamp(min=0).sqrt()))
    x = x.clamp(0, 4)
    knee = _uniform(n, 0.0, 0.35, device)[four]
    x = x / (1 + knee * x)
    x = x.clamp(0, 1) ** (1 / _uniform(n, 1.8, 2.5, device))[four]
    curve = _uniform(n, -0.15, 0.5, device)[four]
    x = x + curve * (x * x * (3 - 2 * x) - x)
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * _uniform(n, 0.4, 1.4, device)[four]
    soft = nnf.avg_pool2d(nnf.pad(x, (1, 1, 1, 1), mode="replicate"), 3, 1)
    x = x + (_uniform(n, 0, 1.0, device) * (torch.rand(n, device=device) < 0.7))[four] * (x - soft)
    x = x.clamp(0, 1)
    whole = torch.rand(n, device=device) < 0.4
    x = torch.where(whole[four], x, stored(x, _uniform(n, 55, 97, device)))
    return (x * 255).round() / 255

"""From radiance to what a phone would have stored: blur, light, colour, noise, tone, sharpening. All drawn anew each time."""

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


def photographed(radiance: torch.Tensor) -> torch.Tensor:
    """Turn radiance into stored values.

    Args:
        radiance: (n, 3, h, w), linear.

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
    level = torch.stack(
        [torch.quantile(small[i], q) for i, q in enumerate(_uniform(n, 0.4, 0.97, device).tolist())]
    )
    # Some are taken in the dark: too dark a picture, and noise as large as what it shows.
    dark = torch.rand(n, device=device) < 0.12
    aim = torch.where(dark, _uniform(n, 0.04, 0.25, device), _uniform(n, 0.25, 0.85, device))
    x = x * (aim / level.clamp(min=1e-4))[four]
    x = x * (1 + 0.14 * torch.randn(n, 3, 1, 1, device=device)).clamp(0.65, 1.45)
    yy, xx = torch.meshgrid(
        torch.linspace(-1, 1, h, device=device), torch.linspace(-1, 1, w, device=device), indexing="ij"
    )
    x = x * (1 - _uniform(n, 0, 0.25, device)[four] * (xx**2 + yy**2)[None, None])
    x = x + (_uniform(n, 0, 0.06, device) * (torch.rand(n, device=device) < 0.4))[four]
    noise = 10 ** torch.where(dark, _uniform(n, -2.4, -1.2, device), _uniform(n, -3.2, -1.55, device))
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
    return (x.clamp(0, 1) * 255).round() / 255

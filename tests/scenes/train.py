"""Render scenes and train the label network on them; one command, one device.

    python -m tests.scenes.train --render-seconds 200 --train-seconds 330 --out OUT

Writes OUT/labels.onnx, OUT/labels.pt and OUT/log.txt; writes them again during training, so that a stop loses little.
"""

from __future__ import annotations

import argparse
import multiprocessing
import time
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as nnf

from tests.scenes.network import LabelNetwork, export
from tests.scenes.phone import photographed
from tests.scenes.scene import CLASSES, Scene, draw_scene
from tests.scenes.trace import DeviceTracer, trace_here

WEIGHT = torch.tensor([1.2, 4.0, 4.0, 4.0, 4.0, 2.5, 4.0, 3.0, 1.0, 3.0, 1.0])
"""In the order of the classes: what is thin or small counts more than the deck."""


def packed(seed: int, width: int, height: int) -> Scene:
    """Draw a scene with compact arrays, so that it travels fast between processes."""
    scene = draw_scene(seed, width=width, height=height)
    scene.prims = np.asarray(scene.prims, np.float32)
    scene.mats = np.asarray(scene.mats, np.float32)
    return scene


def _packed(job: tuple[int, int, int]) -> Scene:
    return packed(*job)


def render_all(seeds: range, seconds: float, samples: int, size: tuple[int, int], device: str, say):
    """Render until the time is up.

    Returns:
        Radiance (n, 3, h, w) half precision, classes (n, h/2, w/2, 9), cue (n, h/2, w/2) in 255ths, all on the device.
    """
    w, h = size
    tracer = DeviceTracer() if device == "cuda" else None
    radiance, classes, cues = [], [], []
    start = time.time()
    workers = max(1, multiprocessing.cpu_count() - 2)
    with multiprocessing.get_context("spawn").Pool(workers) as pool:
        for i, scene in enumerate(pool.imap_unordered(_packed, ((s, w, h) for s in seeds), chunksize=4)):
            r, c, q = (
                torch.as_tensor(a, device=device)
                for a in (tracer.trace if tracer else trace_here)(scene, samples=samples, seed=i)
            )
            if scene.height > scene.width:
                r, c, q = (torch.rot90(a, 1, (0, 1)) for a in (r, c, q))
            radiance.append(r.permute(2, 0, 1).half().contiguous())
            classes.append(c.contiguous())
            cues.append((q * 255).round().to(torch.uint8).contiguous())
            if i % 200 == 0:
                say(f"rendered {i + 1} scenes in {time.time() - start:.1f} s")
            if time.time() - start > seconds:
                pool.terminate()
                break
    say(f"rendered {len(radiance)} scenes in {time.time() - start:.1f} s")
    return torch.stack(radiance), torch.stack(classes), torch.stack(cues)


def batch_of(data, index: torch.Tensor, turn: int, flip: bool):
    """Pictures, soft class targets and cue of some scenes, turned and flipped."""
    radiance, classes, cues = (a[index] for a in data)
    soft = torch.stack([(classes == k).float().mean(-1) for k in range(len(CLASSES))], 1)
    cue = cues.float()[:, None] / 255
    out = []
    for a in (radiance, soft, cue):
        a = torch.rot90(a, turn, (2, 3))
        out.append(a.flip(3) if flip else a)
    return photographed(out[0]), out[1], out[2]


def loss_of(y: torch.Tensor, soft: torch.Tensor, cue: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """Weighted cross-entropy against class shares, overlap of the bar classes, and the cue."""
    logs = torch.log_softmax(y[:, :-1].float(), 1)
    w = (soft * weight[None, :, None, None]).sum(1)
    entropy = -(soft * logs).sum(1)
    p = logs.exp()
    inside, total = (p * soft).sum((0, 2, 3)), (p + soft).sum((0, 2, 3))
    overlap = 1 - (2 * inside[1:] + 50) / (total[1:] + 50)
    heat = nnf.binary_cross_entropy_with_logits(y[:, -1:].float(), cue, reduction="none") * (1 + 4 * cue)
    return (w * entropy).mean() + 0.3 * overlap.mean() + 0.7 * heat.mean()


def train(
    data, seconds: float, batch: int, device: str, out: Path, say, start_from: str | None = None
) -> None:
    """Train for a given time with one cycle of the learning rate, and export a running mean of the weights."""
    torch.manual_seed(7)
    network = LabelNetwork().to(device, memory_format=torch.channels_last)
    if start_from:
        network.load_state_dict(torch.load(start_from, map_location=device))
    mean = torch.optim.swa_utils.AveragedModel(
        network, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True
    )
    best_rate = 8e-4 if start_from else 3e-3
    optimiser = torch.optim.AdamW(network.parameters(), lr=best_rate, weight_decay=1e-2)
    weight = WEIGHT.to(device)
    n, begin, step, running, saved = len(data[0]), time.time(), 0, 0.0, 0.0
    rng = np.random.default_rng(11)
    while (spent := time.time() - begin) < seconds:
        done = spent / seconds
        rate = best_rate * min(1.0, done / 0.04 + 0.02) * (0.5 + 0.5 * np.cos(np.pi * done))
        for group in optimiser.param_groups:
            group["lr"] = max(rate, 1e-6)
        index = torch.as_tensor(rng.integers(0, n, batch), device=device)
        x, soft, cue = batch_of(data, index, int(rng.integers(4)), bool(rng.integers(2)))
        with torch.autocast(device, dtype=torch.bfloat16):
            y = network(x.contiguous(memory_format=torch.channels_last))
        loss = loss_of(y, soft, cue, weight)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 2.0)
        optimiser.step()
        mean.update_parameters(network)
        step += 1
        running = loss.item() if step == 1 else 0.99 * running + 0.01 * loss.item()
        if step % 200 == 0:
            say(f"step {step}, {spent:.0f} s, loss {running:.4f}, rate {rate:.5f}")
        if spent - saved > 100:
            saved = spent
            save(mean.module, out)
    say(f"{step} steps of {batch} pictures, loss {running:.4f}")
    save(mean.module, out)


def save(network: LabelNetwork, out: Path) -> None:
    """Write weights and ONNX."""
    state = {k: t.detach().float().cpu() for k, t in network.state_dict().items()}
    torch.save(state, out / "labels.pt")
    copy = LabelNetwork()
    copy.load_state_dict(state)
    export(copy, str(out / "labels.onnx"))


def main() -> None:
    """Render, then train."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--render-seconds", type=float, default=200)
    ask.add_argument("--train-seconds", type=float, default=330)
    ask.add_argument("--samples", type=int, default=9)
    ask.add_argument("--batch", type=int, default=8)
    ask.add_argument("--width", type=int, default=1024)
    ask.add_argument("--height", type=int, default=768)
    ask.add_argument("--first-seed", type=int, default=100_000)
    ask.add_argument("--scenes", type=int, default=100_000)
    ask.add_argument("--start-from")
    ask.add_argument("--out", type=Path, required=True)
    a = ask.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    log = (a.out / "log.txt").open("a")

    def say(text: str) -> None:
        print(text, flush=True)
        log.write(text + "\n")
        log.flush()

    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.backends.cudnn.benchmark = True
    seeds = range(a.first_seed, a.first_seed + a.scenes)
    data = render_all(seeds, a.render_seconds, a.samples, (a.width, a.height), device, say)
    say(f"memory {torch.cuda.memory_allocated() / 1e9:.1f} GB" if device == "cuda" else "on the processor")
    train(data, a.train_seconds, a.batch, device, a.out, say, a.start_from)


if __name__ == "__main__":
    main()

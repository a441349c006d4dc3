"""Write trained weights as ONNX and hold what OpenCV makes of it to what PyTorch makes of it.

python -m tests.scenes.export SIZE labels-SIZE.pt labels.onnx
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import torch

from tests.scenes.network import LabelNetwork, Sizes
from tests.scenes.render import CONFIGURATION

TRAINING = CONFIGURATION["training"]


def export(network: LabelNetwork, path: Path) -> None:
    """Write the network for pictures of any size that 32 divides.

    Args:
        network: The trained network.
        path: The ONNX file.
    """
    torch.onnx.export(
        network.float().cpu().eval(),
        (torch.zeros(1, 3, 768, 1024),),
        str(path),
        input_names=["picture"],
        output_names=["labels"],
        dynamic_axes={"picture": {2: "h", 3: "w"}, "labels": {2: "h4", 3: "w4"}},
        opset_version=17,
        dynamo=False,
    )


def difference(network: LabelNetwork, path: Path, *, height: int = 192, width: int = 256) -> float:
    """Largest difference between the two ways to run it, on a random picture.

    Args:
        network: The trained network.
        path: The ONNX file written from it.
        height: Height of the picture, px.
        width: Width of the picture, px.

    Returns:
        The difference of logits.
    """
    import cv2

    x = np.random.default_rng(1).random((1, 3, height, width), np.float32)
    net = cv2.dnn.readNetFromONNX(str(path))
    net.setInput(x)
    with torch.no_grad():
        expected = network.eval()(torch.from_numpy(x)).numpy()
    return float(np.abs(net.forward() - expected).max())


def main() -> None:
    """Export and compare."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("size", choices=TRAINING["sizes"])
    ask.add_argument("weights", type=Path)
    ask.add_argument("onnx", type=Path)
    a = ask.parse_args()
    network = LabelNetwork(Sizes(**TRAINING["sizes"][a.size]))
    network.load_state_dict(torch.load(a.weights, map_location="cpu"))
    export(network, a.onnx)
    print(f"largest difference {difference(network, a.onnx):.2e}")


if __name__ == "__main__":
    main()

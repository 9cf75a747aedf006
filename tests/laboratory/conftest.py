"""The training is no test and needs PyTorch, which the tests do not install."""

collect_ignore = ["parts_net.py", "train_liquids.py", "train_parts.py"]

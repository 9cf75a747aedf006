"""What readings mean for the ground: classes, categories, amendments; no screen, disk or clock."""

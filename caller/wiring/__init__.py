"""From settings to objects: the only package that picks a device, and loads it late."""

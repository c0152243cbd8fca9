"""First on the path of a child process, this makes its machine one without PortAudio."""

raise OSError("PortAudio library not found")

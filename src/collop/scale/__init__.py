"""Reading a scale: typed, sent as keys, or by the open USB weighing page."""

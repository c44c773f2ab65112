"""Excel through the add-in xlwings Lite, where Python runs inside the add-in and the disk cannot be reached."""

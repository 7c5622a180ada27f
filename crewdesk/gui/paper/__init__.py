"""What the window prints: the sheet with its car card, and the handover page."""

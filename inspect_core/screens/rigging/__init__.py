"""Set-up checks on screen: what is entered, drawn and answered before work at an edge."""

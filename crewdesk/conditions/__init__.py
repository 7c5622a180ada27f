"""Air, road and surface at each stage of the day, with how sure they are."""

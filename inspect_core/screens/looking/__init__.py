"""What an item's page shows of its life, one view at a time."""

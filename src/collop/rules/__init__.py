"""What the law and good practice ask: limits as data with their sources, checks as functions."""

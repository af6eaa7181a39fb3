"""What each cut must earn: cost allocation, the board, break-even, mark-down, clearing prices."""

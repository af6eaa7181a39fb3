"""Steps from one form of the shop's tables to the next, each with its way back."""

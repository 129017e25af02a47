"""How far the stock goes: limits of demands, what a part is good for, and which machines to look for."""

"""Labels for the bags and boxes of a stock, on sheets to print."""

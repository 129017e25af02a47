"""Stocks in and out of spreadsheets."""

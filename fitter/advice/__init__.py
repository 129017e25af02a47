"""Advice kept as data: shop sizes and prices, donor machines, cautions."""

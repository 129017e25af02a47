"""From a recipe and a stock to ranked builds, with the reasons."""

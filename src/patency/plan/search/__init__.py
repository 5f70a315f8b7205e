"""The search for loads in whole numbers: bounds, models, quick plans, times and conflicts; it knows no instruments."""

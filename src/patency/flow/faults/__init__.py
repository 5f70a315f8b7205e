"""Every single fault of a load: what it does to the water in every lumen, and what each sensor shows of it."""

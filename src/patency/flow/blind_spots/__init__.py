"""Which faults no sensor can see, what people look at instead, and which further sensor would show most."""

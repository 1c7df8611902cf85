"""The cheapest way to a fault: what each test splits, what it costs, and the plan that is least."""

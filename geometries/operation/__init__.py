"""How the converter is operated, measured and judged: edges, emission, limits, budgets, price."""

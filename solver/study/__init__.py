"""Variants side by side: figures of merit, ranking, sweeps, tolerances, budgets."""

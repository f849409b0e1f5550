"""From figures over the visits to rates, steps and forecasts."""

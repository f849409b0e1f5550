"""From positions to moves: chain, turns of screws, shims, the dial while moving."""

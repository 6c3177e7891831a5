"""Cloth, fusing blocks, placing, remnants: how much of each material an order needs, and where each piece lies on it."""

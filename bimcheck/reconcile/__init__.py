"""Issues from run to run: a stable id, a state, and what people typed beside them."""

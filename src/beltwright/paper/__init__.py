"""What is pinned to the wall or filed: job card, labels, records of closed jobs, to-scale drawings."""

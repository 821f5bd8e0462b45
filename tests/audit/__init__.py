"""What is shipped: that it is pinned, still offered by its registry, and under which licences."""

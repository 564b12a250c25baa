"""What to do when: from lots and their milestones to tasks, rounds and one Plan. Pure."""

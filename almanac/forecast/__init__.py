"""When will it happen: from lots and rules to milestones, logged or forecast. Pure."""

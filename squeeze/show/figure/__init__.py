"""Pictures of closings; each module is imported where it is wanted."""

"""What a design starts from: the models, as a group that is moved, turned and arranged."""

"""The form as plain data, and its values turned into a preset and back."""

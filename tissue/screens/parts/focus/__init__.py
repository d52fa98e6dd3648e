"""The component that moves the focus to new content."""

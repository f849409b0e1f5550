"""Who comes when: visits ahead, proposals, the calendar, its private feed and reminders."""

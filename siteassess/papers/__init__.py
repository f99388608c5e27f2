"""What is handed over: map, plan, report, pictures, exports."""

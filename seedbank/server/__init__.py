"""What is served: the API and the pages in one application, and what guards them both."""

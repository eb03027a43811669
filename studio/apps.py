from django.apps import AppConfig


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        """Say what the worker looks after each minute, and what its jobs are called."""
        from studio import forgetting, outbox
        from studio.backups import making
        from studio.jobs import Name, each_minute, names

        for module in (making, outbox, forgetting):
            if module.put_in_line_if_due not in each_minute:
                each_minute.append(module.put_in_line_if_due)
        names[making.back_up.module_path] = Name("the backup of the night", of_studio=False)
        names[outbox.send_waiting.module_path] = Name("sending mails", of_studio=False)
        names[forgetting.tidy_up.module_path] = Name("the tidying of the day", of_studio=False)

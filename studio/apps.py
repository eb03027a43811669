from django.apps import AppConfig


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        """Say what the worker looks after each minute, what its jobs are called, what is logged."""
        from axes.signals import user_locked_out
        from django_tasks.signals import task_finished, task_started

        from studio import forgetting, like, logs, outbox
        from studio.backups import making
        from studio.backups.warning import warn_of_old_backup
        from studio.jobs import Name, each_minute, names

        for module in (making, outbox, forgetting):
            if module.put_in_line_if_due not in each_minute:
                each_minute.append(module.put_in_line_if_due)
        if warn_of_old_backup not in forgetting.daily:
            forgetting.daily.append(warn_of_old_backup)
        names[making.back_up.module_path] = Name("the backup of the night", of_studio=False)
        names[outbox.send_waiting.module_path] = Name("sending mails", of_studio=False)
        names[forgetting.tidy_up.module_path] = Name("the tidying of the day", of_studio=False)
        like.teach_all()
        user_locked_out.connect(logs.tell_lock_out)
        task_started.connect(logs.begin_job)
        task_finished.connect(logs.end_job)
